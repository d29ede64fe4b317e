/** The roster optimiser.
 *
 *  Problem in words: put certified, available people into the seats of one election so that, in strict order, (1)
 *  the most seats are filled by priority class, (2) the weighted violations of the county's rules are least, (3) the
 *  cost in metres is least. No level is traded for a lower one, and no large weight folds two levels into one sum.
 *
 *  Method. Level 1: a matching with priorities (level-one.ts), proven by covers. Levels 2 and 3: start from the
 *  least-cost matching (least-cost.ts, exact when no rule bites); Lagrangian prices on people (bound.ts) split the
 *  problem into crews, each solved exactly, which bounds levels 2 and 3 from below and yields party patterns;
 *  patterns turned into row filters and solved exactly again, then exchanges on typed arrays (improve.ts) give
 *  rosters from above. With a mixed-integer solver at hand regions of neighbouring crews are solved nearly exactly
 *  instead (by-regions.ts), the duals of their linear relaxations are the prices that the bound starts from, and a
 *  county small enough is closed by solving the whole model. Where people are short the roster starts from crews that are each
 *  cheapest at such prices, and what its crews still lack is brought along chains of changes (chains.ts), between which
 *  the roster's own pattern is solved exactly (own-pattern.ts).
 *
 *  Limits: costs below 2^31 metres an arc; a person serves at most one seat a date; a full-day person never takes
 *  half of a full-day seat. Same instance, seed and work limit: same result on any machine (only integers and the
 *  basic, exactly rounded operations on doubles decide).
 *  References: see the modules named.
 */
import type { RosterInstance, RosterResult } from '../schema'
import type { MipSolver } from './mip-model'
import { compileModel, type Model } from './model'
import { runSolve } from './pipeline'
import type { SolveProgress } from './progress'
import type { SolveContext } from './run'

export interface SolveOptions {
  /** Seed of the exchanges. Default 1. */
  seed?: number
  /** Effort: 0 stops after the least-cost matching and its bound, 1 (default) is the usual, 10 ten times the work.
   *  A count of steps, never a time: the same on every machine. */
  workLimit?: number
  /** Partial rosters that an exhaustive search may look at where prices leave a level open. Default 200,000. */
  searchNodes?: number
  /** A mixed-integer solver (lib/roster/mip.ts has one). Without it levels 2 and 3 rest on exchanges and the
   *  subgradient method alone: a roster as sound, with a wider gap. */
  mip?: MipSolver
  onProgress?: (progress: SolveProgress) => void
  /** Aborted: the best so far comes back with status `interrupted`. */
  signal?: { readonly aborted: boolean }
}

/** Solves a roster. @throws RangeError for an instance that contradicts itself (see `compileModel`). */
export function solveRoster(instance: RosterInstance, options: SolveOptions = {}): RosterResult {
  options.onProgress?.({ stage: 'reading', share: 0, filled: null, violations: null, cost: null })
  return solveModel(compileModel(instance), options)
}

/** The same on a model compiled before. */
export function solveModel(model: Model, options: SolveOptions = {}): RosterResult {
  const context: SolveContext = {
    model,
    seed: options.seed ?? 1,
    workLimit: options.workLimit ?? 1,
    searchNodes: options.searchNodes ?? 200_000,
    mip: options.mip ?? null,
    onProgress: options.onProgress ?? (() => {}),
    aborted: () => options.signal?.aborted ?? false,
  }
  return runSolve(context)
}
