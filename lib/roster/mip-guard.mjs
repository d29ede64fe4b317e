/** Watches over the solver's thread for a caller that is asleep until an answer comes: a thread that dies, of its own memory
 *  or otherwise, says nothing, so `flag` is raised here when it has ended. */
import { Worker, workerData } from 'node:worker_threads'

const { port, flag, mostBytes, resourceLimits } = workerData
const solver = new Worker(new URL('./mip-worker.mjs', import.meta.url), {
  workerData: { port, flag, mostBytes },
  transferList: [port],
  execArgv: [],
  resourceLimits,
})
solver.on('error', () => {})
solver.on('exit', () => {
  Atomics.store(flag, 0, 1)
  Atomics.notify(flag, 0)
})
