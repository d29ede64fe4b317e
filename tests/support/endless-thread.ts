/** A thread that says how far it is and never comes to an end. */
import { parentPort } from 'node:worker_threads'

parentPort!.postMessage({ kind: 'progress', progress: { step: 'two-parameter', share: 0.5 } })
setInterval(() => undefined, 1000)
