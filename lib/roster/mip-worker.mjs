/** The thread that HiGHS (WebAssembly) lives in. It answers one model at a time. A WebAssembly heap only grows and is
 *  dead once it overflowed, so the thread ends after any failure and once its heap is large; the next model starts a
 *  fresh one. `flag` is raised with each answer. */
import { workerData } from 'node:worker_threads'
import highsLoader from 'highs'

const { port, flag, mostBytes } = workerData
const highs = await highsLoader()

port.on('message', ({ data, options, start }) => {
  const answer = solve(data, options, start)
  const spent = answer === null || highs.memoryBytes > mostBytes
  port.postMessage({ answer, spent })
  Atomics.store(flag, 0, 1)
  Atomics.notify(flag, 0)
  if (spent) process.exit()
})

function solve(data, options, start) {
  try {
    const sense = highs.constants.objectiveSense
    const problem = highs.createModel({
      ...data,
      sense: data.sense === 'min' ? sense.minimize : sense.maximize,
    })
    try {
      problem.options.set({ output_flag: false, ...options })
      if (start) problem.setSolution({ colValue: start })
      problem.run()
      const feasible = Number(problem.info.get('primal_solution_status')) === 2
      const solution = feasible ? problem.getSolution() : null
      return {
        status: String(problem.getModelStatus()),
        objective: feasible ? problem.getObjectiveValue() : Number.NaN,
        bound: Number(problem.info.get('mip_dual_bound')),
        columns: solution ? Float64Array.from(solution.colValue) : null,
        rowDuals: solution ? Float64Array.from(solution.rowDual) : null,
      }
    } finally {
      problem.dispose()
    }
  } catch {
    return null
  }
}
