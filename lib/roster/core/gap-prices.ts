/** Lagrangian prices for the generalised assignment problem with some pairs ruled out and some jobs decided.
 *
 *  Prices u on 'every job once' leave one knapsack an agent: Σ u − Σ knapsack gains bounds the cost from below. The
 *  knapsacks are exact (dynamic programming over the room); where an agent's room is beyond `CELLS` its weights are
 *  counted in coarser units, rounded down: still a bound, a little weaker. O(jobs × room) a knapsack.
 *  References: Fisher, Jaikumar & Van Wassenhove 1986; Posta, Ferland & Michelon 2012 (fixing by such bounds). */

/** Costs are to be least; `cost[agent * jobs + job]`. */
export interface GapTables {
  agents: number
  jobs: number
  cost: Float64Array
  weight: Int32Array
  capacity: Int32Array
  /** Are all costs whole? Then bounds are rounded up. */
  whole: boolean
}

/** What is still open: pairs, jobs, room. */
export interface GapNode {
  open: Uint8Array
  agentOf: Int32Array
  room: Int32Array
  /** Cost of the decided jobs. */
  decided: number
}

const CELLS = 4096

export class Pricing {
  /** Cells of knapsack tables filled: the measure of work. */
  work = 0
  readonly count: Int32Array
  readonly gains: Float64Array
  /** Of each agent's knapsack: is a job taken? */
  readonly taken: Uint8Array
  private readonly unit: Int32Array
  private readonly items: Int32Array
  private readonly widths: Int32Array
  private readonly worth: Float64Array
  private row = new Float64Array(CELLS + 1)
  private keep = new Uint8Array(1 << 16)
  private before = new Float64Array(1 << 16)
  private after = new Float64Array(1 << 16)

  constructor(readonly tables: GapTables) {
    const { agents, jobs } = tables
    this.count = new Int32Array(jobs)
    this.gains = new Float64Array(agents)
    this.taken = new Uint8Array(agents * jobs)
    this.unit = tables.capacity.map((c) => Math.max(1, Math.ceil(c / CELLS)))
    this.items = new Int32Array(jobs)
    this.widths = new Int32Array(jobs)
    this.worth = new Float64Array(jobs)
  }

  /** The bound at some prices; `count`, `gains` and `taken` are of it. */
  value(node: GapNode, u: Float64Array): number {
    const { agents, jobs } = this.tables
    this.count.fill(0)
    let sum = node.decided
    for (let j = 0; j < jobs; j++) if (node.agentOf[j]! < 0) sum += u[j]!
    for (let i = 0; i < agents; i++) sum -= this.knapsack(i, node, u)
    return sum
  }

  /** Gathers the jobs that an agent would take for their gain; how many. */
  private gather(i: number, node: GapNode, u: Float64Array): number {
    const { jobs, cost, weight } = this.tables
    const { items, widths, worth } = this
    const unit = this.unit[i]!
    // A pair costs as much to look at as some cells.
    this.work += 5 * jobs
    let found = 0
    for (let j = 0, a = i * jobs; j < jobs; j++, a++) {
      this.taken[a] = 0
      if (node.open[a] === 0 || node.agentOf[j]! >= 0) continue
      const gain = u[j]! - cost[a]!
      if (gain <= 0) continue
      items[found] = j
      widths[found] = unit === 1 ? weight[a]! : Math.floor(weight[a]! / unit)
      worth[found++] = gain
    }
    return found
  }

  private knapsack(i: number, node: GapNode, u: Float64Array): number {
    const { items, widths, worth, count, taken, row } = this
    const at = i * this.tables.jobs
    const found = this.gather(i, node, u)
    const room = Math.floor(node.room[i]! / this.unit[i]!)
    let rest = 0
    let all = 0
    for (let t = 0; t < found; t++) {
      rest += widths[t]!
      all += worth[t]!
    }
    if (rest <= room) {
      for (let t = 0; t < found; t++) {
        taken[at + items[t]!] = 1
        count[items[t]!]!++
      }
      this.gains[i] = all
      return all
    }
    const size = room + 1
    if (this.keep.length < found * size) this.keep = new Uint8Array(2 * found * size)
    const { keep } = this
    row.fill(0, 0, size)
    keep.fill(0, 0, found * size)
    for (let t = 0; t < found; t++) {
      const w = widths[t]!
      const g = worth[t]!
      rest -= w
      // Only what later jobs can still lead to the full room from is needed.
      const low = Math.max(w, room - rest)
      const base = t * size
      for (let c = room; c >= low; c--) {
        const with_ = row[c - w]! + g
        if (with_ > row[c]!) {
          row[c] = with_
          keep[base + c] = 1
        }
      }
      this.work += Math.max(0, room - low)
    }
    for (let t = found - 1, c = room; t >= 0; t--)
      if (keep[t * size + c] === 1) {
        taken[at + items[t]!] = 1
        count[items[t]!]!++
        c -= widths[t]!
      }
    this.gains[i] = row[room]!
    return row[room]!
  }

  /** What an agent's gain loses if it must take each open job (`into`), and if it mustn't (`without`). */
  losses(i: number, node: GapNode, u: Float64Array, into: Float64Array, without: Float64Array): void {
    const { jobs, cost, weight } = this.tables
    const { items, widths, worth } = this
    const unit = this.unit[i]!
    const at = i * jobs
    const found = this.gather(i, node, u)
    const room = Math.floor(node.room[i]! / unit)
    const size = room + 1
    if (this.before.length < (found + 1) * size) {
      this.before = new Float64Array(2 * (found + 1) * size)
      this.after = new Float64Array(2 * (found + 1) * size)
    }
    const { before, after } = this
    before.fill(0, 0, size)
    after.fill(0, found * size, (found + 1) * size)
    const step = (from: Float64Array, source: number, target: number, t: number) => {
      const w = widths[t]!
      const g = worth[t]!
      for (let c = 0; c < size; c++) {
        const stay = from[source + c]!
        const go = c >= w ? from[source + c - w]! + g : 0
        from[target + c] = go > stay ? go : stay
      }
    }
    for (let t = 0; t < found; t++) step(before, t * size, (t + 1) * size, t)
    for (let t = found - 1; t >= 0; t--) step(after, (t + 1) * size, t * size, t)
    const full = found * size
    const best = before[full + room]!
    into.fill(Number.POSITIVE_INFINITY, at, at + jobs)
    without.fill(0, at, at + jobs)
    const meet = (t: number, left: number) => {
      let most = Number.NEGATIVE_INFINITY
      for (let c = 0, a = t * size, b = (t + 1) * size + left; c <= left; c++, a++, b--) {
        const sum = before[a]! + after[b]!
        if (sum > most) most = sum
      }
      return most
    }
    for (let j = 0, a = at; j < jobs; j++, a++) {
      if (node.open[a] === 0 || node.agentOf[j]! >= 0) continue
      const w = Math.floor(weight[a]! / unit)
      if (w <= room) into[a] = best - (before[full + room - w]! + u[j]! - cost[a]!)
    }
    for (let t = 0; t < found; t++) {
      const a = at + items[t]!
      without[a] = best - meet(t, room)
      if (widths[t]! <= room) into[a] = best - (meet(t, room - widths[t]!) + worth[t]!)
    }
    this.work += 4 * found * size
    for (let t = 0; t < found; t++) {
      // Rounding of sums in another order.
      const a = at + items[t]!
      if (without[a]! < 0) without[a] = 0
      if (into[a]! < 0) into[a] = 0
    }
  }
}

export interface Climb {
  steps: number
  /** A value that the bound needn't exceed. */
  target: number
  agility: number
}

/** Betters prices step by step along the subgradient; `u` ends at the best. Stops early where the bound reaches the
 *  target or every job is taken once. Returns the best bound; the pricing's tables are of it only where `exact`. */
export function climbPrices(
  pricing: Pricing,
  node: GapNode,
  u: Float64Array,
  { steps, target, agility }: Climb,
): { value: number; exact: boolean } {
  const { jobs } = pricing.tables
  const now = u.slice()
  let best = Number.NEGATIVE_INFINITY
  let stale = 0
  for (let step = 0; step < steps; step++) {
    const value = pricing.value(node, now)
    let norm = 0
    for (let j = 0; j < jobs; j++) if (node.agentOf[j]! < 0) norm += (1 - pricing.count[j]!) ** 2
    if (value > best) {
      if (value > best + 1e-4 * Math.abs(target - value)) stale = 0
      best = value
      u.set(now)
      if (norm === 0) return { value, exact: true }
      if (best >= target) break
    } else if (norm === 0) return { value, exact: true }
    if (++stale > 6) {
      agility *= 0.6
      stale = 0
      if (agility < 1e-3) break
    }
    const length = (agility * Math.max(target - value, 1e-3 * Math.abs(target))) / norm
    for (let j = 0; j < jobs; j++)
      if (node.agentOf[j]! < 0) now[j] = now[j]! + length * (1 - pricing.count[j]!)
  }
  return { value: best, exact: false }
}

/** Prices from nothing, where no value to aim at is known: the aim lies a little above the best bound so far, further while
 *  it is reached and nearer while it isn't. Returns the bound. */
export function freshPrices(pricing: Pricing, node: GapNode, u: Float64Array, steps: number): number {
  const { agents, jobs, cost } = pricing.tables
  for (let j = 0; j < jobs; j++) {
    let [one, two] = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY]
    for (let i = 0, a = j; i < agents; i++, a += jobs) {
      if (!node.open[a]) continue
      if (cost[a]! < one) [one, two] = [cost[a]!, one]
      else if (cost[a]! < two) two = cost[a]!
    }
    u[j] = two < Number.POSITIVE_INFINITY ? two : one
  }
  let best = pricing.value(node, u)
  let reach = Math.max(1e-6, 0.1 * Math.abs(best))
  for (let done = 0; done < steps; ) {
    const some = Math.min(steps - done, 12)
    const { value, exact } = climbPrices(pricing, node, u, { steps: some, target: best + reach, agility: 1 })
    done += some
    if (exact) return value
    reach *= value >= best + reach / 2 ? 2 : 0.5
    best = Math.max(best, value)
    if (reach < 1e-5 * Math.max(1, Math.abs(best))) break
  }
  return best
}
