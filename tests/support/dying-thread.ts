/** A thread that says it is half done and then dies without a word, as one does that was killed or ran out of memory. */
import { parentPort } from 'node:worker_threads'

parentPort!.postMessage({ kind: 'progress', progress: { stage: 'bounds', share: 0.5 } })
setTimeout(() => process.exit(1), 50)
