/** A thread that writes some files of papers, one after the other (see thread.ts). */
import { parentPort, workerData } from 'node:worker_threads'
import { type PaperWork, writePaper } from './write-paper'

const send = (message: object) => parentPort!.postMessage(message)
try {
  const { works } = workerData as { works: PaperWork[] }
  for (const work of works) send({ kind: 'progress', progress: await writePaper(work) })
  send({ kind: 'result', result: null })
} catch (error) {
  const { name, message } = error as Error
  send({ kind: 'failed', name, message })
}
