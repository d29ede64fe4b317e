/** The `highs` package (HiGHS compiled to WebAssembly, MIT) behind the core's `MipSolver`. Load a fresh one for every task:
 *  once a WebAssembly heap ran out of memory the instance is dead, and every later answer is `failed`. */
import highsLoader from 'highs'
import type { MipAnswer, MipModel, MipSolver } from './core/mip-model'

/** Loads a solver. The promise resolves once the WebAssembly module is ready. */
export async function loadMipSolver(): Promise<MipSolver> {
  const highs = await highsLoader()
  return (model: MipModel, limits) => {
    try {
      const problem = highs.createModel(dataOf(model, highs.constants.objectiveSense))
      try {
        problem.options.set({
          output_flag: false,
          mip_rel_gap: limits.gap ?? 0,
          mip_abs_gap: 0.999,
          mip_max_nodes: limits.nodes,
          random_seed: 0,
        })
        if (limits.cutoff !== undefined) problem.options.set({ objective_bound: limits.cutoff })
        if (limits.start) problem.setSolution({ colValue: Float64Array.from(limits.start) })
        problem.run()
        const status = statusOf(String(problem.getModelStatus()))
        const feasible = Number(problem.info.get('primal_solution_status')) === 2
        const solution = feasible ? problem.getSolution() : null
        const objective = feasible ? problem.getObjectiveValue() : Number.NaN
        const linear = !model.whole.includes(true)
        return {
          status,
          values: solution ? Float64Array.from(solution.colValue) : null,
          objective,
          bound: linear ? objective : Number(problem.info.get('mip_dual_bound')),
          rowDuals: linear && status === 'optimal' && solution ? Float64Array.from(solution.rowDual) : null,
        }
      } finally {
        problem.dispose()
      }
    } catch {
      return {
        status: 'failed',
        values: null,
        objective: Number.NaN,
        bound: model.sense === 'min' ? Number.NEGATIVE_INFINITY : Number.POSITIVE_INFINITY,
        rowDuals: null,
      } satisfies MipAnswer
    }
  }
}

type Highs = Awaited<ReturnType<typeof highsLoader>>

/** A model as `highs` takes it. */
export function dataOf(model: MipModel, sense: Highs['constants']['objectiveSense']) {
  const starts = new Int32Array(model.rows.length + 1)
  model.rows.forEach((r, i) => {
    starts[i + 1] = starts[i]! + r.columns.length
  })
  const indices = new Int32Array(starts[model.rows.length]!)
  const values = new Float64Array(indices.length)
  model.rows.forEach((r, i) => {
    indices.set(r.columns, starts[i]!)
    values.set(r.factors, starts[i]!)
  })
  const numCols = model.cost.length
  const numRows = model.rows.length
  return {
    numCols,
    numRows,
    sense: model.sense === 'min' ? sense.minimize : sense.maximize,
    colCost: Float64Array.from(model.cost),
    colLower: Float64Array.from(model.lower),
    colUpper: Float64Array.from(model.upper),
    rowLower: Float64Array.from(model.rows, (r) => r.lower),
    rowUpper: Float64Array.from(model.rows, (r) => r.upper),
    matrix: { format: 'csr' as const, numRows, numCols, starts, indices, values },
    integrality: Int32Array.from(model.whole, Number),
  }
}

function statusOf(code: string): MipAnswer['status'] {
  if (code === '7' || /^optimal$/i.test(code)) return 'optimal'
  if (code === '8' || /infeasible/i.test(code)) return 'infeasible'
  return 'limit'
}
