import { Worker } from 'node:worker_threads'
import type { PlanFound, PlanInput } from '@/lib/roster/plan'

export type PlanMessage =
  | { kind: 'progress'; share: number }
  | { kind: 'found'; found: PlanFound }
  | { kind: 'failed'; message: string }

/** Explains the empty seats and plans the training in a thread of its own. Aborting ends the thread at once: the
 *  promise rejects. */
export function planInThread(
  input: PlanInput,
  options: { onProgress: (share: number) => void; signal: AbortSignal },
): Promise<PlanFound> {
  return new Promise((resolve, reject) => {
    const worker = new Worker(new URL('./plan-thread-entry.ts', import.meta.url), {
      workerData: input,
      execArgv: ['--import', 'tsx'],
    })
    const stop = () => void worker.terminate()
    options.signal.addEventListener('abort', stop, { once: true })
    const settle = (act: () => void) => {
      options.signal.removeEventListener('abort', stop)
      act()
      stop()
    }
    worker.on('message', (message: PlanMessage) => {
      if (message.kind === 'progress') options.onProgress(message.share)
      else if (message.kind === 'found') settle(() => resolve(message.found))
      else settle(() => reject(new Error(`The planning thread failed: ${message.message}`)))
    })
    worker.on('error', (error) => settle(() => reject(error)))
    worker.on('exit', () =>
      settle(() => reject(new Error('The planning thread ended before it had a result'))),
    )
  })
}
