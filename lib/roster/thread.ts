/** Runs the optimiser in a thread of its own, so that no event loop waits for it. The thread is ended afterwards;
 *  if it dies, the promise rejects and whatever roster was stored stays as it was. */
import { Worker } from 'node:worker_threads'
import type { SolveProgress } from './core/progress'
import type { SolveOptions } from './core/solve'
import type { RosterInstance, RosterResult } from './schema'

export type ThreadMessage =
  | { kind: 'progress'; progress: SolveProgress }
  | { kind: 'result'; result: RosterResult }
  | { kind: 'failed'; name: string; message: string }

export interface ThreadOptions {
  seed?: number
  workLimit?: number
  onProgress?: (progress: SolveProgress) => void
  /** Aborting asks the search to stop and hand over its best roster (status `interrupted`). */
  signal?: AbortSignal
}

/** Solves a roster in a worker thread. @throws RangeError for an instance that contradicts itself; Error when the
 *  thread dies. */
export function solveRosterInThread(
  instance: RosterInstance,
  options: ThreadOptions = {},
): Promise<RosterResult> {
  const cancel = new SharedArrayBuffer(4)
  const flag = new Int32Array(cancel)
  const workerOptions: Pick<SolveOptions, 'seed' | 'workLimit'> = {}
  if (options.seed !== undefined) workerOptions.seed = options.seed
  if (options.workLimit !== undefined) workerOptions.workLimit = options.workLimit
  return new Promise((resolve, reject) => {
    const worker = new Worker(new URL('./thread-start.mjs', import.meta.url), {
      workerData: { instance, options: workerOptions, cancel },
      execArgv: [],
    })
    const stop = () => Atomics.store(flag, 0, 1)
    if (options.signal?.aborted) stop()
    options.signal?.addEventListener('abort', stop, { once: true })
    let settled = false
    const settle = (act: () => void) => {
      if (settled) return
      settled = true
      options.signal?.removeEventListener('abort', stop)
      act()
      void worker.terminate()
    }
    worker.on('message', (message: ThreadMessage) => {
      if (message.kind === 'progress') options.onProgress?.(message.progress)
      else if (message.kind === 'result') settle(() => resolve(message.result))
      else
        settle(() =>
          reject(
            message.name === 'RangeError'
              ? new RangeError(message.message)
              : new Error(`The roster thread failed: ${message.message}`),
          ),
        )
    })
    worker.on('error', (error) => settle(() => reject(error)))
    worker.on('exit', (code) =>
      settle(() => reject(new Error(`The roster thread ended with code ${code} before it had a result`))),
    )
  })
}
