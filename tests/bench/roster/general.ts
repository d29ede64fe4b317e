/** The model of level 3 (every arc; seats filled and violations fixed at the values found) given to general solvers. */
import { execFileSync } from 'node:child_process'
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'
import highsLoader from 'highs'
import { buildRosterMip, type RosterMip } from '@/lib/roster/core/mip-roster'
import { prepareRoster } from '@/lib/roster/core/prepared'
import { dataOf } from '@/lib/roster/mip'
import type { RosterInstance, RosterResult } from '@/lib/roster/schema'

function modelOf(instance: RosterInstance, result: RosterResult): RosterMip {
  const { model, state } = prepareRoster(instance, result)
  return buildRosterMip(model, { filled: result.levels[0]!.value, violations: state.violations(), state })
}

function stopwatch() {
  const from = performance.now()
  return () => `${((performance.now() - from) / 1000).toFixed(0)} s`
}

/** HiGHS (WebAssembly), from nothing, within `limit` seconds. */
export async function runHighs(
  instance: RosterInstance,
  result: RosterResult,
  limit: number,
): Promise<string> {
  const built = modelOf(instance, result)
  const took = stopwatch()
  try {
    const highs = await highsLoader()
    const sense = highs.constants.objectiveSense.minimize
    const problem = highs.createModel({ ...dataOf(built.mip).data, sense })
    problem.options.set({ output_flag: false, mip_rel_gap: 0, mip_abs_gap: 0.999, time_limit: limit })
    problem.run()
    const feasible = Number(problem.info.get('primal_solution_status')) === 2
    const value = feasible ? problem.getObjectiveValue() : null
    return said(value, Number(problem.info.get('mip_dual_bound')), built.constant, took())
  } catch (error) {
    return `failed after ${took()}: ${(error as Error).message.slice(0, 40)}`
  }
}

/** Debian's CBC, from nothing, within `limit` seconds and two minutes of grace. */
export function runCbc(instance: RosterInstance, result: RosterResult, limit: number): string {
  if (!existsSync('/usr/bin/cbc')) return 'not installed'
  const built = modelOf(instance, result)
  const folder = mkdtempSync(path.join(tmpdir(), 'bench-cbc-'))
  const file = path.join(folder, 'model.lp')
  writeFileSync(file, built.mip.toLp())
  const took = stopwatch()
  try {
    const text = execFileSync(
      '/usr/bin/cbc',
      [file, 'timemode', 'elapsed', 'ratio', '0', 'allow', '0.999', 'sec', String(limit), 'solve'],
      { encoding: 'utf8', maxBuffer: 1e8, timeout: (limit + 120) * 1000, killSignal: 'SIGKILL' },
    )
    const number = (pattern: RegExp) => {
      const found = pattern.exec(text)?.[1]
      return found === undefined ? null : Number(found)
    }
    const value = /No feasible solution found/.test(text) ? null : number(/Objective value:\s+([\d.e+]+)/)
    const proven = /Optimal solution found/.test(text) ? value : number(/Lower bound:\s+([\d.e+]+)/)
    const bound = proven ?? number(/Continuous objective value is ([\d.e+]+)/)
    return said(value, bound, built.constant, took())
  } catch {
    return `ended without an answer after ${took()}`
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

function said(value: number | null, bound: number | null, constant: number, took: string): string {
  const least = bound === null || !Number.isFinite(bound) ? null : Math.round(bound + constant)
  if (value === null) return `no roster, ${least === null ? 'no bound' : `bound ${least}`}, ${took}`
  const whole = Math.round(value + constant)
  return `${whole}, ${least === null ? 'no bound' : `bound ${least} (${((100 * (whole - least)) / whole).toFixed(2)} %)`}, ${took}`
}
