/** Tables of one crew in the Lagrangian bound: what each bundle of seats costs by party difference, and all combined. */
import type { CrewInfo } from './bound-crews'

const INF = Number.POSITIVE_INFINITY

/** What a bundle takes: units of whole days, then those of shared days; −1: somebody beyond a sparse model. */
export interface Pick {
  units: number[]
  whole: number
  seats: number
}

/** What a bundle of like seats costs, where parties don't matter. */
export interface BundleTable {
  value: number
  /** Who reaches it. */
  pick(entry: number): Pick
}

interface InOrder {
  cost: Float64Array
  unit: Int32Array
  size: number
}

/** Ways to fill a bundle, by the party difference that they bring. */
export interface Ways {
  count: number
  cost: Float64Array
  difference: Int32Array
  /** 0 none or mixed, 1 all of the first party, 2 all of the second. */
  type: Uint8Array
  /** For `pick`. */
  entry: Int32Array
}

const waysOf = (most: number): Ways => ({
  count: 0,
  cost: new Float64Array(most),
  difference: new Int32Array(most),
  type: new Uint8Array(most),
  entry: new Int32Array(most),
})

/** The cheapest people that a table is made of. */
export interface Candidates {
  /** Whole days, by party class. */
  byParty: readonly InOrder[]
  /** The judged half of the day, by party class. */
  halves: readonly InOrder[]
  /** The other half: each of them goes with one of `halves`. */
  rest: InOrder
  /** The same lists, in this order. */
  all: readonly InOrder[]
}

/** Sums of the first n costs. */
function sumsOf(list: InOrder, seats: number, into: Float64Array): void {
  into[0] = 0
  for (let n = 1; n <= seats; n++) into[n] = n <= list.size ? into[n - 1]! + list.cost[n - 1]! : INF
}

const packed = (x: readonly number[]): number => (x[0]! << 16) | (x[1]! << 8) | x[2]!

/** Of so many of each party (`x`) how many are there for half the day (`h`), one at least, so that the cost is least; all of
 *  them, 0 where there are too few people. Costs rise along each list: while one more shared day pays, it is right. */
function share({ byParty, halves, rest }: Candidates, x: readonly number[], h: number[]): number {
  let shared = 0
  for (let p = 0; p < 3; p++) {
    h[p] = Math.max(0, x[p]! - byParty[p]!.size)
    shared += h[p]!
  }
  if (shared > rest.size) return 0
  for (; shared < rest.size; shared++) {
    let least = shared === 0 ? INF : -rest.cost[shared]!
    let party = -1
    for (let p = 0; p < 3; p++) {
      const n = h[p]!
      if (n >= x[p]! || n >= halves[p]!.size) continue
      const more = halves[p]!.cost[n]! - byParty[p]!.cost[x[p]! - n - 1]!
      if (more < least) {
        least = more
        party = p
      }
    }
    if (party < 0) break
    h[party]!++
  }
  return shared
}

/** A bundle's table where parties matter; its arrays serve one crew after another. A shared day counts with the party of
 *  its judged half, and as mixed where lead and deputy are judged: both only lower the bound. */
export class PartyTable implements BundleTable {
  seats = 0
  value = 0
  /** The cheapest of each type and difference. */
  byType = waysOf(0)
  /** The cheapest of each difference. */
  byDifference = waysOf(0)
  /** By type × (difference + seats). */
  private best = new Float64Array(0)
  /** Composition that reaches each entry: people of each party class, and how many of them for half the day. */
  private how = new Int32Array(0)
  private howShared = new Int32Array(0)
  private lists: Int32Array[] = []
  private sums: Float64Array[] = []

  /** @param gains of the first n seats together; @param must so many seats at least are filled; @param counts whether the
   *  people bring a difference. */
  fill(seats: number, people: Candidates, gains: Float64Array, must: number, counts: boolean): this {
    const width = 2 * seats + 1
    this.seats = seats
    if (3 * width > this.best.length) {
      this.best = new Float64Array(3 * width)
      this.how = new Int32Array(3 * width)
      this.howShared = new Int32Array(3 * width)
      this.lists = Array.from({ length: 7 }, () => new Int32Array(seats))
      this.sums = Array.from({ length: 7 }, () => new Float64Array(seats + 1))
      this.byType = waysOf(3 * width)
      this.byDifference = waysOf(width)
    }
    this.best.fill(INF, 0, 3 * width)
    const { all } = people
    for (let l = 0; l < all.length; l++) {
      const { size, unit } = all[l]!
      for (let i = 0; i < size && i < seats; i++) this.lists[l]![i] = unit[i]!
    }
    this.fillWhole(people.byParty, gains, must, counts)
    if (people.rest.size > 0) this.fillShared(people, gains, must, counts)
    this.listWays(width)
    return this
  }

  /** People for whole days alone. */
  private fillWhole(byParty: readonly InOrder[], gains: Float64Array, must: number, counts: boolean): void {
    const { seats } = this
    const [as, bs, os] = byParty as [InOrder, InOrder, InOrder]
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
          const cost = sumA + sumB + sumO - gains[n]!
          this.enter(type, counts ? a - b : 0, cost, (a << 16) | (b << 8) | o, 0)
        }
      }
    }
  }

  /** One shared day at least. It may be dearer than whole ones and save the violation of lead and deputy. */
  private fillShared(people: Candidates, gains: Float64Array, must: number, counts: boolean): void {
    const { seats, sums } = this
    const { byParty, halves, all } = people
    for (let l = 0; l < all.length; l++) sumsOf(all[l]!, seats, sums[l]!)
    const most = byParty.map(({ size }, p) => Math.min(seats, size + halves[p]!.size))
    const x = [0, 0, 0]
    const h = [0, 0, 0]
    for (let a = 0; a <= most[0]!; a++)
      for (let b = 0; b <= Math.min(seats - a, most[1]!); b++)
        for (let o = 0; o <= Math.min(seats - a - b, most[2]!); o++) {
          x[0] = a
          x[1] = b
          x[2] = o
          const n = a + b + o
          if (n < must) continue
          const shared = share(people, x, h)
          if (shared === 0) continue
          let cost = sums[6]![shared]! - gains[n]!
          for (let p = 0; p < 3; p++) cost += sums[p]![x[p]! - h[p]!]! + sums[3 + p]![h[p]!]!
          this.enter(0, counts ? a - b : 0, cost, packed(x), packed(h))
        }
  }

  private enter(type: number, difference: number, cost: number, how: number, howShared: number): void {
    const at = type * (2 * this.seats + 1) + difference + this.seats
    if (cost >= this.best[at]!) return
    this.best[at] = cost
    this.how[at] = how
    this.howShared[at] = howShared
  }

  private listWays(width: number): void {
    const { best, byType, byDifference, seats } = this
    let types = 0
    let differences = 0
    for (let d = 0; d < width; d++) {
      let least = -1
      for (let type = 0; type < 3; type++) {
        const e = type * width + d
        const cost = best[e]!
        if (cost === INF) continue
        byType.cost[types] = cost
        byType.difference[types] = d - seats
        byType.type[types] = type
        byType.entry[types++] = e
        if (least < 0 || cost < best[least]!) least = e
      }
      if (least < 0) continue
      byDifference.cost[differences] = best[least]!
      byDifference.difference[differences] = d - seats
      byDifference.entry[differences++] = least
    }
    byType.count = types
    byDifference.count = differences
  }

  pick(entry: number): Pick {
    const units: number[] = []
    const shared: number[] = []
    for (let p = 0; p < 3; p++) {
      const shift = 16 - 8 * p
      const all = (this.how[entry]! >> shift) & 255
      const halves = (this.howShared[entry]! >> shift) & 255
      for (let i = 0; i < all - halves; i++) units.push(this.lists[p]![i]!)
      for (let i = 0; i < halves; i++) shared.push(this.lists[3 + p]![i]!)
    }
    const pairs = shared.length
    for (let i = 0; i < pairs; i++) shared.push(this.lists[6]![i]!)
    return { units: [...units, ...shared], whole: units.length, seats: units.length + pairs }
  }
}

/** A bundle's table where parties don't matter: one entry, whole days and shared ones merged by cost. Each further seat
 *  costs more and gains less, so the cheapest are taken while they pay. */
export function plainTable(
  seats: number,
  { byParty, halves, rest }: Candidates,
  gains: Float64Array,
  must: number,
): BundleTable {
  const units: number[] = []
  const shared: number[] = []
  const whole = byParty[0]!
  const half = halves[0]!
  const pairs = Math.min(half.size, rest.size)
  let total = 0
  let w = 0
  let p = 0
  while (w + p < seats) {
    const one = w < whole.size ? whole.cost[w]! : INF
    const pair = p < pairs ? half.cost[p]! + rest.cost[p]! : INF
    const next = Math.min(one, pair) - (gains[w + p + 1]! - gains[w + p]!)
    if (next === INF || (w + p >= must && next >= 0)) break
    total += next
    if (one <= pair) units.push(whole.unit[w++]!)
    else {
      shared.push(half.unit[p]!, rest.unit[p]!)
      p++
    }
  }
  if (w + p < must) total = INF
  return {
    value: total,
    pick: () => ({ units: [...units, ...shared], whole: units.length, seats: w + p }),
  }
}

/** Arrays of `combine`, used again by each crew: grown, never shrunk. */
const scratch = {
  current: new Float64Array(0),
  next: new Float64Array(0),
  backs: [] as Int32Array[],
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

/** State of the duty rule: nothing to judge any more or yet; leads all of the first or second party; violated. */
const CLEAN = 0
const VIOLATED = 3
/** A step back: state before it × STRIDE + way taken. */
const STRIDE = 4096

/** Dynamic programme over a crew's bundles: state = duty × party difference. */
export function combine(
  tables: readonly PartyTable[],
  crew: CrewInfo,
  allowed: number,
  excessPrice: number,
  sameParty: number,
): { value: number; chosen: number[]; excess: number; sameParty: number } {
  let S = 0
  for (const t of tables) S += t.seats
  const width = 2 * S + 1
  const states = 4 * width
  const { backs } = scratchOf(states, tables.length)
  let { current, next } = scratch
  current.fill(INF, 0, states)
  current[crew.dutyStart * width + S] = 0
  const duties = crew.dutySecond >= 0 ? 4 : 1
  let reach = 0
  for (let n = 0; n < crew.order.length; n++) {
    const i = crew.order[n]!
    const t = tables[i]!
    const back = backs[n]!
    const first = i === crew.dutyFirst
    const second = i === crew.dutySecond
    const { count, cost, difference, type } = first || second ? t.byType : t.byDifference
    next.fill(INF, 0, states)
    for (let duty = 0; duty < duties; duty++) {
      const row = duty * width
      for (let from = row + S - reach; from <= row + S + reach; from++) {
        const before = current[from]!
        if (before === INF) continue
        for (let j = 0; j < count; j++) {
          let at = from + difference[j]!
          let c = before + cost[j]!
          if (first) at += (type[j]! - duty) * width
          else if (second) {
            const same = type[j]! > 0 && type[j] === duty
            at += ((same ? VIOLATED : CLEAN) - duty) * width
            if (same) c += sameParty
          }
          if (c < next[at]!) {
            next[at] = c
            back[at] = from * STRIDE + j
          }
        }
      }
    }
    reach += t.seats
    const swap = current
    current = next
    next = swap
  }
  let value = INF
  let end = -1
  for (let duty = 0; duty < duties; duty++)
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
  const same = Math.floor(end / width) === VIOLATED ? 1 : 0
  let at = end
  for (let n = tables.length - 1; n >= 0; n--) {
    const i = crew.order[n]!
    const ways = i === crew.dutyFirst || i === crew.dutySecond ? tables[i]!.byType : tables[i]!.byDifference
    const code = backs[n]![at]!
    chosen[i] = ways.entry[code % STRIDE]!
    at = Math.floor(code / STRIDE)
  }
  return { value, chosen, excess, sameParty: same }
}
