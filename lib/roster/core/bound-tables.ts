/** Tables of one crew in the Lagrangian bound: what each bundle of seats costs by party difference, and all combined. */
import type { CrewInfo } from './bound-crews'

const INF = Number.POSITIVE_INFINITY

/** What a bundle takes: units of whole days, then those of shared days; −1: somebody beyond a sparse model. */
export interface Pick {
  units: number[]
  whole: number
  seats: number
}

/** What a bundle of like seats costs. */
export interface BundleTable {
  /** By type (0 clean or empty, 1 all of the first party, 2 all of the second) × (difference + seats). */
  best: Float64Array
  seats: number
  /** Who reaches an entry. */
  pick(entry: number): Pick
}

interface InOrder {
  cost: Float64Array
  unit: Int32Array
  size: number
}

/** A bundle's table where parties matter; its arrays serve one crew after another. */
export class PartyTable implements BundleTable {
  best = new Float64Array(0)
  seats = 0
  /** Composition that reaches each entry. */
  private how = new Int32Array(0)
  private lists: Int32Array[] = []

  /** @param cheapest people of each party class, in order; @param gains of the first n seats together; @param must so
   *  many seats at least are filled. */
  fill(seats: number, cheapest: readonly InOrder[], gains: Float64Array, must: number): this {
    const width = 2 * seats + 1
    if (seats !== this.seats) {
      this.seats = seats
      this.best = new Float64Array(3 * width)
      this.how = new Int32Array(3 * width)
      this.lists = [0, 1, 2].map(() => new Int32Array(seats))
    }
    const { best, how, lists } = this
    const [as, bs, os] = cheapest as [InOrder, InOrder, InOrder]
    best.fill(INF)
    for (let p = 0; p < 3; p++)
      for (let i = 0; i < cheapest[p]!.size; i++) lists[p]![i] = cheapest[p]!.unit[i]!
    let sumA = 0
    for (let a = 0; a <= Math.min(seats, as.size); a++) {
      if (a > 0) sumA += as.cost[a - 1]!
      let sumB = 0
      for (let b = 0; b <= Math.min(seats - a, bs.size); b++) {
        if (b > 0) sumB += bs.cost[b - 1]!
        let sumO = 0
        for (let o = 0; o <= Math.min(seats - a - b, os.size); o++) {
          if (o > 0) sumO += os.cost[o - 1]!
          const n = a + b + o
          if (n < must) continue
          const type = n === 0 || o > 0 || (a > 0 && b > 0) ? 0 : a > 0 ? 1 : 2
          const at = type * width + (a - b + seats)
          const c = sumA + sumB + sumO - gains[n]!
          if (c < best[at]!) {
            best[at] = c
            how[at] = (a << 16) | (b << 8) | o
          }
        }
      }
    }
    return this
  }

  pick(entry: number): Pick {
    const code = this.how[entry]!
    const units: number[] = []
    for (let i = 0; i < code >> 16; i++) units.push(this.lists[0]![i]!)
    for (let i = 0; i < ((code >> 8) & 255); i++) units.push(this.lists[1]![i]!)
    for (let i = 0; i < (code & 255); i++) units.push(this.lists[2]![i]!)
    return { units, whole: units.length, seats: units.length }
  }
}

/** A bundle's table where parties don't matter: one entry, whole days and shared ones merged by cost. Each further seat
 *  costs more and gains less, so the cheapest are taken while they pay. */
export function plainTable(
  seats: number,
  whole: InOrder,
  mornings: InOrder,
  afternoons: InOrder,
  gains: Float64Array,
  must: number,
): BundleTable {
  const units: number[] = []
  const shared: number[] = []
  const pairs = Math.min(mornings.size, afternoons.size)
  let total = 0
  let w = 0
  let p = 0
  while (w + p < seats) {
    const one = w < whole.size ? whole.cost[w]! : INF
    const pair = p < pairs ? mornings.cost[p]! + afternoons.cost[p]! : INF
    const next = Math.min(one, pair) - (gains[w + p + 1]! - gains[w + p]!)
    if (next === INF || (w + p >= must && next >= 0)) break
    total += next
    if (one <= pair) units.push(whole.unit[w++]!)
    else {
      shared.push(mornings.unit[p]!, afternoons.unit[p]!)
      p++
    }
  }
  if (w + p < must) total = INF
  return {
    best: Float64Array.of(total),
    seats,
    pick: () => ({ units: [...units, ...shared], whole: units.length, seats: w + p }),
  }
}

/** Arrays of `combine`, used again by each crew: grown, never shrunk. */
const scratch = {
  current: new Float64Array(0),
  next: new Float64Array(0),
  backs: [] as Int32Array[],
  entries: [] as number[],
}

function scratchOf(states: number, bundles: number): typeof scratch {
  if (scratch.current.length < states) {
    scratch.current = new Float64Array(states)
    scratch.next = new Float64Array(states)
    scratch.backs = []
  }
  while (scratch.backs.length < bundles) scratch.backs.push(new Int32Array(scratch.current.length))
  return scratch
}

/** Dynamic programme over a crew's bundles: state = duty type × party difference. */
export function combine(
  tables: readonly BundleTable[],
  crew: CrewInfo,
  allowed: number,
  excessPrice: number,
  sameParty: number,
): { value: number; chosen: number[]; excess: number; sameParty: number } {
  let S = 0
  for (const t of tables) S += t.seats
  const width = 2 * S + 1
  // Duty type: 0 clean so far or judged, 1/2 leads all of that party, +3 when a same-party violation was counted.
  const states = 4 * width
  const { backs, entries } = scratchOf(states, tables.length)
  let { current, next } = scratch
  current.fill(INF, 0, states)
  current[crew.dutyStart * width + S] = 0
  let reach = 0
  crew.order.forEach((i, n) => {
    const t = tables[i]!
    const w = 2 * t.seats + 1
    next.fill(INF, 0, states)
    const back = backs[n]!
    const first = i === crew.dutyFirst
    const second = i === crew.dutySecond
    // Where the duty rule doesn't look at this group, only the cheapest type of each difference matters.
    entries.length = 0
    for (let d = 0; d < w; d++) {
      let least = -1
      for (let e = d; e < 3 * w; e += w) {
        if (t.best[e] === INF) continue
        if (first || second) entries.push(e)
        else if (least < 0 || t.best[e]! < t.best[least]!) least = e
      }
      if (least >= 0) entries.push(least)
    }
    const duties = crew.dutySecond >= 0 ? 4 : 1
    for (let duty = 0; duty < duties; duty++)
      for (let d = S - reach; d <= S + reach; d++) {
        const from = current[duty * width + d]!
        if (from === INF) continue
        for (let i = 0; i < entries.length; i++) {
          const e = entries[i]!
          const c = t.best[e]!
          const type = (e / w) | 0
          const to = d + (e % w) - t.seats
          let nextDuty = duty
          let extra = 0
          if (first) nextDuty = type
          else if (second) {
            nextDuty = type > 0 && type === duty ? 3 : 0
            if (nextDuty === 3) extra = sameParty
          }
          const at = nextDuty * width + to
          if (from + c + extra < next[at]!) {
            next[at] = from + c + extra
            back[at] = (duty * width + d) * 4096 + e
          }
        }
      }
    reach += t.seats
    ;[current, next] = [next, current]
  })
  let value = INF
  let end = -1
  for (let duty = 0; duty < 4; duty++)
    for (let d = 0; d < width; d++) {
      const c = current[duty * width + d]!
      if (c === INF) continue
      const excess = Math.max(0, Math.abs(d - S + crew.lockedDifference) - allowed)
      const total = excess === 0 || excessPrice === 0 ? c : c + excess * excessPrice
      if (total < value) {
        value = total
        end = duty * width + d
      }
    }
  const chosen = new Array<number>(tables.length).fill(0)
  if (end < 0) return { value: INF, chosen, excess: 0, sameParty: 0 }
  const excess = crew.balance ? Math.max(0, Math.abs((end % width) - S + crew.lockedDifference) - allowed) : 0
  const same = Math.floor(end / width) === 3 ? 1 : 0
  let at = end
  for (let n = tables.length - 1; n >= 0; n--) {
    const code = backs[n]![at]!
    chosen[crew.order[n]!] = code % 4096
    at = Math.floor(code / 4096)
  }
  return { value, chosen, excess, sameParty: same }
}
