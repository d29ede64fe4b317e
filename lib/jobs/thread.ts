import { Worker } from 'node:worker_threads'

type Message<R> =
  | { kind: 'progress'; progress: unknown }
  | { kind: 'result'; result: R }
  | { kind: 'failed'; name: string; message: string }

/** Runs an entry module in a thread of its own and ends the thread afterwards. `work` is handed over as the thread's
 *  data, with a `cancel` flag that is raised on abort; a thread that doesn't look at it is ended after `graceMs`.
 *  @throws Error when the thread fails, dies or is ended. */
export function runInThread<R, P>(
  entry: URL,
  work: object,
  options: { onProgress: (progress: P) => void; signal: AbortSignal; graceMs?: number },
): Promise<R> {
  const cancel = new SharedArrayBuffer(4)
  return new Promise((resolve, reject) => {
    const worker = new Worker(new URL('./thread-boot.mjs', import.meta.url), {
      workerData: { ...work, cancel, entry: entry.href },
      execArgv: [],
    })
    let late: NodeJS.Timeout | undefined
    const stop = () => {
      Atomics.store(new Int32Array(cancel), 0, 1)
      late = setTimeout(() => void worker.terminate(), options.graceMs ?? 3000)
    }
    if (options.signal.aborted) stop()
    else options.signal.addEventListener('abort', stop, { once: true })
    const settle = (act: () => void) => {
      options.signal.removeEventListener('abort', stop)
      clearTimeout(late)
      act()
      void worker.terminate()
    }
    worker.on('message', (message: Message<R>) => {
      if (message.kind === 'progress') options.onProgress(message.progress as P)
      else if (message.kind === 'result') settle(() => resolve(message.result))
      else settle(() => reject(new Error(`The thread failed: ${message.name}: ${message.message}`)))
    })
    worker.on('error', (error) => settle(() => reject(error)))
    worker.on('exit', () => settle(() => reject(new Error('The thread ended before it had a result'))))
  })
}
