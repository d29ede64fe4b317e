/** The `highs` package (HiGHS compiled to WebAssembly, MIT) behind the core's `MipSolver`. A fresh instance is loaded for
 *  every solve's owner: once a WebAssembly heap ran out of memory the instance is dead. */
import highsLoader from 'highs'
import type { MipAnswer, MipModel, MipSolver } from './core/mip-model'

/** Loads a solver. The promise resolves once the WebAssembly module is ready. */
export async function loadMipSolver(): Promise<MipSolver> {
  const highs = await highsLoader()
  return (model: MipModel, limits) => {
    const nothing: MipAnswer = {
      status: 'failed',
      values: null,
      objective: Number.NaN,
      bound: model.sense === 'min' ? Number.NEGATIVE_INFINITY : Number.POSITIVE_INFINITY,
    }
    try {
      const problem = highs.createModel({ format: 'lp', data: model.toLp() })
      try {
        problem.options.set({
          output_flag: false,
          mip_rel_gap: 0,
          mip_abs_gap: 0.999,
          mip_max_nodes: limits.nodes,
          random_seed: 0,
        })
        if (limits.cutoff !== undefined) problem.options.set({ objective_bound: limits.cutoff })
        problem.run()
        const status = String(problem.getModelStatus())
        const bound = Number(problem.info.get('mip_dual_bound'))
        const feasible = Number(problem.info.get('primal_solution_status')) === 2
        const values = feasible ? Float64Array.from(problem.getSolution().colValue) : null
        const objective = feasible ? problem.getObjectiveValue() : Number.NaN
        return { status: statusOf(status), values, objective, bound }
      } finally {
        problem.dispose()
      }
    } catch {
      return nothing
    }
  }
}

function statusOf(code: string): MipAnswer['status'] {
  if (code === '7' || /^optimal$/i.test(code)) return 'optimal'
  if (code === '8' || /infeasible/i.test(code)) return 'infeasible'
  return 'limit'
}
