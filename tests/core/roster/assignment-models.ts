/** The assignment problems as models for general solvers, written here. */
import type { GeneralisedAssignment } from '@/lib/roster/core/generalised-assignment'
import { MipModel } from '@/lib/roster/core/mip-model'

/** Every job once, each agent within its capacity. `whole`: no job is shared. */
export function gapModelOf(
  { sense, values, weights, capacities }: GeneralisedAssignment,
  whole: boolean,
): MipModel {
  const model = new MipModel(sense)
  const x = values.map((row) => row.map((v) => model.column(v, 0, 1, whole)))
  values[0]!.forEach((_, j) => {
    const column = x.map((row) => row[j]!)
    model.row(
      column,
      column.map(() => 1),
      1,
      1,
    )
  })
  for (const [i, row] of x.entries()) model.row(row, weights[i]!, Number.NEGATIVE_INFINITY, capacities[i]!)
  return model
}

/** Every row once, each column at most once; `null` = not allowed. The linear model has a whole solution that is best
 *  (Birkhoff 1946). */
export function denseModelOf(costs: (number | null)[][], sense: 'min' | 'max'): MipModel {
  const model = new MipModel(sense)
  const ofColumn: number[][] = costs[0]!.map(() => [])
  for (const row of costs) {
    const ofRow: number[] = []
    row.forEach((cost, c) => {
      if (cost === null) return
      const x = model.column(cost, 0, 1, false)
      ofRow.push(x)
      ofColumn[c]!.push(x)
    })
    model.row(
      ofRow,
      ofRow.map(() => 1),
      1,
      1,
    )
  }
  for (const column of ofColumn)
    model.row(
      column,
      column.map(() => 1),
      Number.NEGATIVE_INFINITY,
      1,
    )
  return model
}
