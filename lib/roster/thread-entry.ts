/** The worker thread's side of thread.ts. */
import { parentPort, workerData } from 'node:worker_threads'
import { solveRoster } from './core/solve'
import type { RosterInstance } from './schema'
import type { ThreadMessage } from './thread'

const { instance, options, cancel } = workerData as {
  instance: RosterInstance
  options: { seed?: number; workLimit?: number }
  cancel: SharedArrayBuffer
}
const flag = new Int32Array(cancel)
const send = (message: ThreadMessage) => parentPort!.postMessage(message)
const signal = {
  get aborted() {
    return Atomics.load(flag, 0) === 1
  },
}
const start = performance.now()
try {
  const result = solveRoster(instance, {
    ...options,
    signal,
    onProgress: (progress) => send({ kind: 'progress', progress }),
  })
  send({ kind: 'result', result: { ...result, seconds: (performance.now() - start) / 1000 } })
} catch (error) {
  const { name, message } = error as Error
  send({ kind: 'failed', name, message })
}
