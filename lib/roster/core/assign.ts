/** Least-cost assignment of rows to columns on sparse arcs: the shortest augmenting path method.
 *
 *  In words: rows (seats) come one at a time; each is put in along the cheapest chain of changes, and prices on rows
 *  and columns keep every arc's reduced cost at or above zero, so the result is optimal for the rows placed so far.
 *  Row i may instead go to the *spare* column of its class (cost 0, capacity = the seats of that class that can't
 *  be filled): with the capacities of a lexicographically largest matching, the result is the least cost among
 *  all matchings that fill the most seats by priority: level 1 and the cost are both exact, and no large weight
 *  folds one into the other.
 *
 *  Deviations from the paper: no column reduction start; arcs of a row are sorted by cost, and since columns'
 *  prices are never above zero a scan stops as soon as the arc's cost alone exceeds the best end found. Columns'
 *  prices only fall, so the least cost less price that a scan met in a block of arcs stays a lower bound: later scans
 *  pass over whole blocks by it.
 *  Cost: O(rows × scanned arcs × log); integers stay exact in doubles below 2^53.
 *  References: R. Jonker and A. Volgenant, Computing 38 (1987) 325–340; König 1931 for the covers.
 */
import { MinHeap } from './heap'

export interface ArcLists {
  /** Arcs of list l: start[l] .. start[l+1], sorted by cost. */
  start: Int32Array
  column: Int32Array
  cost: Int32Array | Float64Array
  /** Arc kind (see model.ts). */
  kind: Uint8Array
}

/** Arcs of a list that are passed over together. */
const BLOCK = 32

export class Assignment {
  readonly rowCount: number
  readonly spare: number
  /** Row → its column, `columnCount + class` for the spare one, −1 none. */
  readonly columnOf: Int32Array
  readonly rowOf: Int32Array
  readonly rowPrice: Float64Array
  readonly columnPrice: Float64Array
  readonly spareCapacity: Int32Array
  /** Steps counted for work limits: arcs looked at. */
  work = 0
  private spareRows: number[][]
  private distance: Float64Array
  private via: Int32Array
  private mark: Int32Array
  private done: Int32Array
  private stamp = 0
  private heap = new MinHeap()
  /** Blocks of list l: blockStart[l] .. blockStart[l+1]; a lower bound of cost less price over the arcs of each. */
  private readonly blockStart: Int32Array
  private readonly blockLeast: Float64Array

  /** `rowList[i]`: the arc list of row i. `rowKind[i]`: bits of the kinds of arc it uses. `rowClass[i]`: its class.
   *  `rowParties[i]`: bits of the party classes allowed; `rowNeeds[i]`: attribute bits needed. `banned`: columns
   *  that nobody may use; they only grow. */
  constructor(
    readonly arcs: ArcLists,
    readonly columnCount: number,
    readonly rowList: Int32Array,
    readonly rowKind: Uint8Array,
    readonly rowClass: Int32Array,
    readonly rowParties: Uint8Array,
    readonly rowNeeds: Int32Array,
    readonly columnParty: Uint8Array,
    readonly columnBits: Int32Array,
    readonly banned: Uint8Array,
    classCount: number,
  ) {
    this.rowCount = rowList.length
    this.spare = columnCount
    this.columnOf = new Int32Array(this.rowCount).fill(-1)
    this.rowOf = new Int32Array(columnCount).fill(-1)
    this.rowPrice = new Float64Array(this.rowCount)
    this.columnPrice = new Float64Array(columnCount + classCount)
    this.spareCapacity = new Int32Array(classCount)
    this.spareRows = Array.from({ length: classCount }, () => [])
    this.distance = new Float64Array(columnCount + classCount)
    this.via = new Int32Array(columnCount + classCount)
    this.mark = new Int32Array(columnCount + classCount)
    this.done = new Int32Array(columnCount + classCount)
    this.blockStart = new Int32Array(arcs.start.length)
    for (let l = 0; l + 1 < arcs.start.length; l++)
      this.blockStart[l + 1] = this.blockStart[l]! + Math.ceil((arcs.start[l + 1]! - arcs.start[l]!) / BLOCK)
    this.blockLeast = new Float64Array(this.blockStart.at(-1)!).fill(Number.NEGATIVE_INFINITY)
  }

  usable(row: number, arc: number): boolean {
    const column = this.arcs.column[arc]!
    return (
      ((1 << this.arcs.kind[arc]!) & this.rowKind[row]!) !== 0 &&
      ((1 << this.columnParty[column]!) & this.rowParties[row]!) !== 0 &&
      (this.columnBits[column]! & this.rowNeeds[row]!) === this.rowNeeds[row]! &&
      this.banned[column] === 0
    )
  }

  /** Places a row at least extra cost. False when no chain leads to a free column: nothing is changed then. */
  insert(start: number): boolean {
    const { distance, via, mark, done, heap, columnPrice, rowPrice, rowOf, spare, arcs } = this
    const { start: listStart, column: arcColumn, cost: arcCost, kind: arcKind } = arcs
    const { columnParty, columnBits, banned, blockStart, blockLeast } = this
    const stamp = ++this.stamp
    heap.clear()
    let best = Number.POSITIVE_INFINITY
    const popped: number[] = []
    const scan = (row: number, base: number) => {
      const offset = base - rowPrice[row]!
      const spareColumn = spare + this.rowClass[row]!
      if (this.spareCapacity[this.rowClass[row]!]! > 0) {
        const d = offset - columnPrice[spareColumn]!
        if (done[spareColumn] !== stamp && (mark[spareColumn] !== stamp || d < distance[spareColumn]!)) {
          mark[spareColumn] = stamp
          distance[spareColumn] = d
          via[spareColumn] = row
          heap.push(d, spareColumn)
          if (
            this.spareRows[this.rowClass[row]!]!.length < this.spareCapacity[this.rowClass[row]!]! &&
            d < best
          )
            best = d
        }
      }
      const list = this.rowList[row]!
      const kind = this.rowKind[row]!
      const parties = this.rowParties[row]!
      const needs = this.rowNeeds[row]!
      const from = listStart[list]!
      const end = listStart[list + 1]!
      let block = blockStart[list]!
      let looked = 1
      for (let first = from; first < end && offset + arcCost[first]! <= best; first += BLOCK, block++) {
        looked++
        if (offset + blockLeast[block]! > best) continue
        const last = Math.min(end, first + BLOCK)
        let least = Number.POSITIVE_INFINITY
        let a = first
        for (; a < last; a++) {
          const column = arcColumn[a]!
          if (banned[column] !== 0) continue
          const cost = arcCost[a]!
          if (offset + cost > best) {
            if (cost < least) least = cost
            break
          }
          const reduced = cost - columnPrice[column]!
          if (reduced < least) least = reduced
          const d = offset + reduced
          if (
            d > best ||
            ((1 << arcKind[a]!) & kind) === 0 ||
            ((1 << columnParty[column]!) & parties) === 0 ||
            (columnBits[column]! & needs) !== needs ||
            done[column] === stamp ||
            (mark[column] === stamp && d >= distance[column]!)
          )
            continue
          mark[column] = stamp
          distance[column] = d
          via[column] = row
          heap.push(d, column)
          if (rowOf[column] === -1 && d < best) best = d
        }
        blockLeast[block] = least
        looked += a - first
      }
      this.work += looked
    }
    scan(start, 0)
    let sink = -1
    let least = 0
    while (heap.size > 0) {
      const key = heap.topKey
      const column = heap.pop()
      if (done[column] === stamp || key > distance[column]!) continue
      done[column] = stamp
      if (column >= spare) {
        const k = column - spare
        if (this.spareRows[k]!.length < this.spareCapacity[k]!) {
          sink = column
          least = key
          break
        }
        popped.push(column)
        for (const row of this.spareRows[k]!) scan(row, key)
      } else if (rowOf[column] === -1) {
        sink = column
        least = key
        break
      } else {
        popped.push(column)
        scan(rowOf[column]!, key)
      }
    }
    if (sink < 0) return false
    rowPrice[start] = rowPrice[start]! + least
    for (const column of popped) {
      const change = least - distance[column]!
      if (column >= spare)
        for (const row of this.spareRows[column - spare]!) rowPrice[row] = rowPrice[row]! + change
      else rowPrice[rowOf[column]!] = rowPrice[rowOf[column]!]! + change
      columnPrice[column] = columnPrice[column]! - change
    }
    // Walk back along the chain.
    let column = sink
    for (;;) {
      const row = via[column]!
      const previous = this.columnOf[row]!
      if (previous >= spare) {
        const rows = this.spareRows[previous - spare]!
        rows.splice(rows.indexOf(row), 1)
      }
      this.columnOf[row] = column
      if (column >= spare) this.spareRows[column - spare]!.push(row)
      else rowOf[column] = row
      if (row === start) break
      column = previous
    }
    return true
  }

  /** After an `insert` that failed: nothing that it reached leads to a free column, nor ever will while rows are only put in
   *  (a Hall set). Nobody looks there again: failing rows cost each arc once, all together. */
  closeReached(): void {
    for (let column = 0; column < this.columnCount; column++)
      if (this.mark[column] === this.stamp) this.banned[column] = 1
  }

  /** After an `insert` of a row that failed: the rows whose columns it looked for. */
  reachedFrom(start: number): number[] {
    const rows = [start]
    for (let column = 0; column < this.columnCount; column++)
      if (this.mark[column] === this.stamp && this.rowOf[column]! >= 0) rows.push(this.rowOf[column]!)
    for (let k = 0; k < this.spareRows.length; k++)
      if (this.mark[this.spare + k] === this.stamp) rows.push(...this.spareRows[k]!)
    return rows
  }

  /** Takes a row out. Its column becomes free; prices stay valid only if that column's price is zero, so the
   *  caller re-inserts rows until the freed column is used again or calls `settle`. */
  remove(row: number): void {
    const column = this.columnOf[row]!
    if (column < 0) return
    if (column >= this.spare) {
      const rows = this.spareRows[column - this.spare]!
      rows.splice(rows.indexOf(row), 1)
    } else this.rowOf[column] = -1
    this.columnOf[row] = -1
  }

  /** Rows in the spare column of a class. */
  rowsInSpare(k: number): readonly number[] {
    return this.spareRows[k]!
  }

  /** Rows, columns and prices as they are, for `restore`. */
  save() {
    return {
      columnOf: this.columnOf.slice(),
      rowOf: this.rowOf.slice(),
      rowPrice: this.rowPrice.slice(),
      columnPrice: this.columnPrice.slice(),
      spareRows: this.spareRows.map((rows) => rows.slice()),
    }
  }

  restore(saved: ReturnType<Assignment['save']>): void {
    this.columnOf.set(saved.columnOf)
    this.rowOf.set(saved.rowOf)
    this.rowPrice.set(saved.rowPrice)
    this.columnPrice.set(saved.columnPrice)
    this.blockLeast.fill(Number.NEGATIVE_INFINITY)
    this.spareRows = saved.spareRows
  }

  /** Cost of a row's column; 0 for the spare one. Linear in the row's arcs. */
  costOfRow(row: number): number {
    const column = this.columnOf[row]!
    if (column < 0 || column >= this.spare) return 0
    const list = this.rowList[row]!
    for (let a = this.arcs.start[list]!; a < this.arcs.start[list + 1]!; a++)
      if (this.arcs.column[a] === column && this.usable(row, a)) return this.arcs.cost[a]!
    throw new Error('Broken invariant: an assigned column has an arc')
  }
}

/** How many rows of each class a lexicographically largest matching leaves out, with rows taken in class order.
 *  Transversal matroid: greedy by priority is exact. Columns of a closed (Hall) set are never searched again, so
 *  failing rows cost little. Returns the matching as well. O(rows × arcs) at worst, in practice near O(arcs). */
export function largestMatching(problem: Assignment): { deficit: Int32Array; columnOf: Int32Array } {
  const { arcs, rowCount, columnCount, rowClass, rowList } = problem
  const order = Array.from({ length: rowCount }, (_, i) => i).sort(
    (a, b) => rowClass[a]! - rowClass[b]! || a - b,
  )
  const deficit = new Int32Array(problem.spareCapacity.length)
  const columnOf = new Int32Array(rowCount).fill(-1)
  const rowOf = new Int32Array(columnCount).fill(-1)
  const seen = new Int32Array(columnCount)
  const dead = new Uint8Array(columnCount)
  const via = new Int32Array(columnCount)
  const queue = new Int32Array(rowCount + 1)
  let stamp = 0
  for (const start of order) {
    stamp++
    let head = 0
    let tail = 0
    queue[tail++] = start
    let sink = -1
    const reached: number[] = []
    while (head < tail && sink < 0) {
      const row = queue[head++]!
      const list = rowList[row]!
      for (let a = arcs.start[list]!; a < arcs.start[list + 1]!; a++) {
        const column = arcs.column[a]!
        if (seen[column] === stamp || dead[column] || !problem.usable(row, a)) continue
        seen[column] = stamp
        via[column] = row
        reached.push(column)
        if (rowOf[column] === -1) {
          sink = column
          break
        }
        queue[tail++] = rowOf[column]!
      }
    }
    if (sink < 0) {
      deficit[rowClass[start]!]!++
      for (const column of reached) dead[column] = 1
      continue
    }
    for (let column = sink; ; ) {
      const row = via[column]!
      const previous = columnOf[row]!
      columnOf[row] = column
      rowOf[column] = row
      if (row === start) break
      column = previous
    }
  }
  return { deficit, columnOf }
}
