/** The linear assignment problem on a dense table, by the same shortest augmenting path core as the roster. */
import { Assignment } from './assign'

/** Least (or greatest) total of one entry a row, no column twice. `costs[row][column]`, `null` = not allowed; at most
 *  as many rows as columns may be placed, so more rows than columns is refused. `assignment[row]` is its column.
 *  The empty table has value 0. @throws RangeError for a ragged table, more rows than columns, entries that
 *  aren't finite, or where no complete assignment exists (it names the rows that compete). O(rows² × columns). */
export function solveDenseAssignment(
  costs: (number | null)[][],
  sense: 'min' | 'max' = 'min',
): { value: number; assignment: number[] } {
  const rows = costs.length
  const columns = costs[0]?.length ?? 0
  if (rows > columns) throw new RangeError(`there are ${rows} rows but only ${columns} columns`)
  if (rows === 0) return { value: 0, assignment: [] }
  const sign = sense === 'min' ? 1 : -1
  let least = Number.POSITIVE_INFINITY
  for (const [r, row] of costs.entries()) {
    if (row.length !== columns)
      throw new RangeError(`row ${r} has ${row.length} entries, the first has ${columns}`)
    for (const c of row)
      if (c !== null) {
        if (!Number.isFinite(c)) throw new RangeError(`row ${r} has an entry that isn't a finite number`)
        least = Math.min(least, sign * c)
      }
  }
  const start = new Int32Array(rows + 1)
  const column: number[] = []
  const cost: number[] = []
  for (let r = 0; r < rows; r++) {
    const order: number[] = []
    for (let c = 0; c < columns; c++) if (costs[r]![c] !== null) order.push(c)
    order.sort((a, b) => sign * (costs[r]![a]! - costs[r]![b]!) || a - b)
    for (const c of order) {
      column.push(c)
      // Shifted so that no cost is below zero, which the scan's early end relies on.
      cost.push(sign * costs[r]![c]! - least)
    }
    start[r + 1] = column.length
  }
  const problem = new Assignment(
    {
      start,
      column: Int32Array.from(column),
      cost: Float64Array.from(cost),
      kind: new Uint8Array(column.length),
    },
    columns,
    Int32Array.from({ length: rows }, (_, r) => r),
    new Uint8Array(rows).fill(1),
    new Int32Array(rows),
    new Uint8Array(rows).fill(7),
    new Int32Array(rows),
    new Uint8Array(columns),
    new Int32Array(columns),
    new Uint8Array(columns),
    1,
  )
  for (let r = 0; r < rows; r++)
    if (!problem.insert(r)) throw new RangeError(`no complete assignment exists: ${competing(problem, r)}`)
  const assignment = [...problem.columnOf]
  return { value: assignment.reduce((sum, c, r) => sum + costs[r]![c]!, 0), assignment }
}

/** After the insert of a row that failed: the rows that it reached have fewer columns between them (Hall 1935). */
function competing(problem: Assignment, row: number): string {
  problem.closeReached()
  const columns = [...problem.banned.keys()].filter((c) => problem.banned[c] !== 0)
  if (columns.length === 0) return `row ${row} allows no column`
  const rows = [...columns.map((c) => problem.rowOf[c]!), row].sort((a, b) => a - b)
  return `rows ${rows.join(', ')} allow no columns but ${columns.join(', ')}`
}
