/** Level 1 closed by search where covers leave it open: which seats two half-day people share, as a whole model.
 *
 *  Columns: for each group of seats, how many are filled by whole-day people (W) and how many are shared (S), whole
 *  numbers; for each arc whether it is taken. Rows: a unit at most once; the whole-day arcs of a group are W, its
 *  mornings S, its afternoons S; seats filled of earlier classes are kept. Objective: seats filled of the classes up to
 *  one. With W and S fixed what is left is a flow, so arcs need no whole-number condition. Small counties only: the
 *  model has every arc. */
import { AFTERNOON, MORNING, WHOLE } from './eligibility'
import type { LevelOne } from './level-one'
import { MipModel, type MipSolver } from './mip-model'
import type { Model } from './model'

const MOST_ARCS = 60_000
const NODES = 500

/** Level 1 with the best sharing, its bounds met; null where it can't be closed this way (too large, or the limit on nodes
 *  was reached). */
export function closeSeats(model: Model, levelOne: LevelOne, mip: MipSolver): LevelOne | null {
  if (model.arcUnit.length > MOST_ARCS) return null
  const prefix: number[] = []
  let found = { mode: levelOne.mode, filled: levelOne.filled }
  for (let k = 0; k < model.classes.length; k++) {
    // A solution for one class fills later ones by the way only; they are open again, and their turn comes.
    if (levelOne.prefixBound[k]! > sum(found.filled.slice(0, k + 1))) {
      const better = mostSeats(model, mip, k, prefix)
      if (!better) return null
      found = better
    }
    prefix.push(sum(found.filled.slice(0, k + 1)))
  }
  return { ...levelOne, ...found, prefixBound: prefix, closedBySearch: true }
}

/** The most seats of the classes up to `last`, where the first classes fill what `prefix` says. */
function mostSeats(
  model: Model,
  solver: MipSolver,
  last: number,
  prefix: readonly number[],
): { mode: Uint8Array; filled: number[] } | null {
  const mip = new MipModel('max')
  const whole: number[] = []
  const shared: number[] = []
  const unitColumns = new Map<number, number[]>()
  for (let g = 0; g < model.groupCount; g++) {
    const seats = model.groupSeats[g]!.length
    const gain = model.groupClass[g]! <= last ? 1 : 0
    whole.push(mip.column(gain, 0, seats, true))
    shared.push(mip.column(gain, 0, model.groupShift[g] === WHOLE ? seats : 0, true))
    mip.row([whole[g]!, shared[g]!], [1, 1], 0, seats)
    const taken: number[][] = [[], [], []]
    for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++) {
      const unit = model.arcUnit[a]!
      if (model.unitLocked[unit]) continue
      const column = mip.column(0, 0, 1, false)
      taken[model.arcKind[a]!]!.push(column)
      unitColumns.set(unit, [...(unitColumns.get(unit) ?? []), column])
    }
    for (const [kind, count] of [
      [WHOLE, whole[g]!],
      [MORNING, shared[g]!],
      [AFTERNOON, shared[g]!],
    ] as const)
      mip.row([...taken[kind]!, count], [...taken[kind]!.map(() => 1), -1], 0, 0)
  }
  for (const columns of unitColumns.values())
    mip.row(
      columns,
      columns.map(() => 1),
      0,
      1,
    )
  const lockedUpTo = (k: number) => sum(model.lockedFilled.slice(0, k + 1))
  prefix.forEach((seats, k) => {
    const columns = [...whole, ...shared].filter((_, i) => model.groupClass[i % model.groupCount]! <= k)
    if (columns.length > 0)
      mip.row(
        columns,
        columns.map(() => 1),
        seats - lockedUpTo(k),
        columns.length * model.seatCount,
      )
  })
  const answer = solver(mip, { nodes: NODES })
  if (answer.status !== 'optimal' || !answer.values) return null
  const mode = new Uint8Array(model.seatCount)
  const filled = [...model.lockedFilled]
  for (let g = 0; g < model.groupCount; g++) {
    const alone = Math.round(answer.values[whole[g]!]!)
    const both = Math.round(answer.values[shared[g]!]!)
    model.groupSeats[g]!.slice(0, alone + both).forEach((s, i) => {
      mode[s] = i < alone ? 1 : 2
    })
    filled[model.groupClass[g]!]! += alone + both
  }
  return { mode, filled }
}

const sum = (xs: readonly number[]) => xs.reduce((a, b) => a + b, 0)
