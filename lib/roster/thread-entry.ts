/** A thread that solves a roster (started by lib/jobs/thread.ts): it has a fresh mixed-integer solver, which dies with it. */
import { parentPort, workerData } from 'node:worker_threads'
import { solveRoster } from './core/solve'
import { loadMipSolver } from './mip'
import type { RosterInstance } from './schema'

const { instance, options, cancel } = workerData as {
  instance: RosterInstance
  options: { seed?: number; workLimit?: number }
  cancel: SharedArrayBuffer
}
const flag = new Int32Array(cancel)
const send = (message: object) => parentPort!.postMessage(message)
const signal = {
  get aborted() {
    return Atomics.load(flag, 0) === 1
  },
}
const start = performance.now()
try {
  const result = solveRoster(instance, {
    ...options,
    mip: loadMipSolver(),
    signal,
    onProgress: (progress) => send({ kind: 'progress', progress }),
  })
  send({ kind: 'result', result: { ...result, seconds: (performance.now() - start) / 1000 } })
} catch (error) {
  const { name, message } = error as Error
  send({ kind: 'failed', name, message })
}
