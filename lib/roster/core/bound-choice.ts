/** The cheapest choice of people for one crew at given prices, nobody in two seats.
 *
 *  Bundles of like seats (bound-crews.ts) each take the cheapest of each party class; they are combined over the
 *  difference of the two parties and the lead's party (bound-tables.ts). Somebody whom two bundles take is kept out of the
 *  one, or of all but the one, until nobody is taken twice (branch and bound, the least value first). After
 *  MOST_BRANCHES the least value counts as it is: that only lowers the bound.
 *  O(branches × (scanned arcs + seats² × difference)) a crew. */
import type { CrewInfo } from './bound-crews'
import type { BoundSpec, Prices } from './bound-spec'
import { type BundleTable, type Candidates, combine, PartyTable, type Pick, plainTable } from './bound-tables'
import { WHOLE } from './eligibility'
import type { Model } from './model'

const INF = Number.POSITIVE_INFINITY
const MOST_BRANCHES = 200
/** People kept beyond a bundle's seats: so many can be kept out of it before its arcs are scanned again. */
const SPARE = 6

export interface CrewChoice {
  value: number
  /** Balance and lead/deputy, weighted. */
  violations: number
  picks: Pick[]
}

interface Joined {
  value: number
  violations: number
  chosen: number[]
}

/** A choice with some units kept out of some bundles. */
interface Node extends CrewChoice {
  banned: number[][]
  tables: BundleTable[]
}

/** The cheapest of a party class or a half of the day, in order. */
class Cheapest {
  readonly cost: Float64Array
  readonly unit: Int32Array
  size = 0

  constructor(most: number) {
    this.cost = new Float64Array(most)
    this.unit = new Int32Array(most)
  }

  /** Keeps the `most` cheapest. */
  insert(most: number, cost: number, unit: number): void {
    if (this.size === most && cost >= this.cost[most - 1]!) return
    let i = this.size < most ? this.size++ : most - 1
    for (; i > 0 && this.cost[i - 1]! > cost; i--) {
      this.cost[i] = this.cost[i - 1]!
      this.unit[i] = this.unit[i - 1]!
    }
    this.cost[i] = cost
    this.unit[i] = unit
  }

  isDone = (most: number, least: number): boolean => this.size === most && least >= this.cost[most - 1]!

  /** The first `most` of another list that aren't banned. */
  takeFrom(other: Cheapest, most: number, banned: readonly number[]): void {
    let n = 0
    for (let i = 0; i < other.size && n < most; i++) {
      const unit = other.unit[i]!
      if (banned.includes(unit)) continue
      this.cost[n] = other.cost[i]!
      this.unit[n++] = unit
    }
    this.size = n
  }
}

/** By party class and part of the day. */
class Lists implements Candidates {
  readonly byParty: readonly Cheapest[]
  readonly halves: readonly Cheapest[]
  readonly rest: Cheapest
  readonly all: readonly Cheapest[]

  constructor(most: number) {
    this.byParty = [0, 1, 2].map(() => new Cheapest(most))
    this.halves = [0, 1, 2].map(() => new Cheapest(most))
    this.rest = new Cheapest(most)
    this.all = [...this.byParty, ...this.halves, this.rest]
  }
}

export class CrewChooser {
  work = 0
  /** The cheapest of each bundle of the crew, some to spare. */
  private readonly lists: Lists[]
  /** Those of them that a table is made of. */
  private readonly taken: Lists
  /** Tables of one crew's search, used again by the next. */
  private readonly tables: PartyTable[] = []
  private tablesUsed = 0
  /** Sums of what the first seats of a bundle gain. */
  private readonly gains: Float64Array
  private readonly takenBy: Int32Array
  private spec!: BoundSpec
  private prices!: Prices
  private violationPrice = 0
  /** In which order a bundle's seats are filled: classes that must be first, then by what a seat gains, most first. */
  classOrder: number[] = []
  private mustFill: boolean[] = []
  /** Does anybody serve half a day? */
  private readonly hasHalves: boolean

  constructor(
    private readonly model: Model,
    crews: readonly CrewInfo[],
    private readonly unitBits: Int32Array,
  ) {
    let most = 1
    let bundles = 0
    for (const crew of crews) {
      bundles = Math.max(bundles, crew.bundles.length)
      for (const b of crew.bundles) most = Math.max(most, b.seatCount)
    }
    this.lists = Array.from({ length: bundles }, () => new Lists(most + SPARE))
    this.taken = new Lists(most + SPARE)
    this.gains = new Float64Array(most + 1)
    this.takenBy = new Int32Array(model.unitCount).fill(-1)
    this.hasHalves = model.instance.people.some((p) => p.available?.some((a) => a.shift !== 'full'))
  }

  /** Sets the prices that `choose` goes by. */
  price(spec: BoundSpec, prices: Prices, violationPrice: number): void {
    const { classes } = this.model
    this.spec = spec
    this.prices = prices
    this.violationPrice = violationPrice
    this.mustFill = classes.map((c, k) => spec.filled[k] === c.seats)
    const rank = (k: number) => (this.mustFill[k] ? INF : this.gainOf(k))
    this.classOrder = classes
      .map((_, k) => k)
      .sort((j, k) => (rank(j) < rank(k) ? 1 : rank(j) > rank(k) ? -1 : j - k))
  }

  /** Infinite where the classes that must be filled can't be. */
  choose(crew: CrewInfo): CrewChoice {
    this.tablesUsed = 0
    crew.bundles.forEach((bundle, i) => {
      this.scan(crew, i, this.lists[i]!, bundle.seatCount + SPARE, [])
    })
    const none = crew.bundles.map((): number[] => [])
    let node = this.nodeOf(
      crew,
      none,
      none.map((list, i) => this.tableOf(crew, i, list)),
    )
    const open: Node[] = []
    for (let branches = 0; branches < MOST_BRANCHES; branches++) {
      const clash = this.clashOf(node.picks)
      if (!clash) break
      const here = clash.bundle
      const elsewhere = node.banned.map((_, i) => i).filter((i) => i !== here)
      for (const from of [[here], elsewhere]) {
        const child = this.without(crew, node, clash.unit, from)
        if (child.value < INF) open.push(child)
      }
      if (open.length === 0) return { value: INF, violations: 0, picks: [] }
      let least = 0
      for (let i = 1; i < open.length; i++) if (open[i]!.value < open[least]!.value) least = i
      node = open[least]!
      open[least] = open.at(-1)!
      open.pop()
    }
    return node
  }

  private nodeOf(crew: CrewInfo, banned: number[][], tables: BundleTable[]): Node {
    const { value, violations, chosen } = this.join(crew, tables)
    const picks = value < INF ? tables.map((t, i) => t.pick(chosen[i]!)) : []
    return { value, violations, picks, banned, tables }
  }

  /** The node with one unit kept out of some bundles. */
  private without(crew: CrewInfo, { banned, tables }: Node, unit: number, from: readonly number[]): Node {
    const more = [...banned]
    const fewer = [...tables]
    for (const i of from) {
      if (more[i]!.includes(unit)) continue
      more[i] = [...more[i]!, unit]
      fewer[i] = this.tableOf(crew, i, more[i])
    }
    return this.nodeOf(crew, more, fewer)
  }

  /** Somebody whom two bundles take, and one of them. */
  private clashOf(picks: readonly Pick[]): { unit: number; bundle: number } | null {
    const { takenBy } = this
    let clash: { unit: number; bundle: number } | null = null
    picks.forEach(({ units }, bundle) => {
      for (const unit of units) {
        if (unit < 0) continue
        const other = takenBy[unit]!
        if (other >= 0 && other !== bundle && !clash) clash = { unit, bundle: other }
        takenBy[unit] = bundle
      }
    })
    for (const { units } of picks) for (const unit of units) if (unit >= 0) takenBy[unit] = -1
    return clash
  }

  private join(crew: CrewInfo, tables: BundleTable[]): Joined {
    if (!crew.partyMatters)
      return {
        value: tables.reduce((sum, t) => sum + t.value, 0),
        violations: 0,
        chosen: tables.map(() => 0),
      }
    const { balance, leadDeputySameParty: duty } = this.model.instance.rules
    const hard = balance?.mode === 'hard'
    const allowed = balance?.maxDifference ?? 0
    const weight = balance?.weight ?? 0
    const each = hard ? INF : this.violationPrice * weight
    const combined = combine(
      tables as PartyTable[],
      crew,
      // Locked members may break a hard balance on their own; nobody may make it worse.
      hard ? Math.max(allowed, crew.lockedMost) : allowed,
      crew.balance ? each : 0,
      this.violationPrice * duty,
    )
    return {
      value: combined.value,
      violations: combined.excess * (hard ? 0 : weight) + combined.sameParty * duty,
      chosen: combined.chosen,
    }
  }

  private gainOf = (k: number): number => this.prices.filled[k]! + this.spec.earn[k]!

  private tableOf(crew: CrewInfo, i: number, banned: readonly number[]): BundleTable {
    const bundle = crew.bundles[i]!
    const { taken } = this
    if (banned.length > SPARE) this.scan(crew, i, taken, bundle.seatCount, banned)
    else
      for (let l = 0; l < taken.all.length; l++)
        taken.all[l]!.takeFrom(this.lists[i]!.all[l]!, bundle.seatCount, banned)
    let must = 0
    let n = 0
    for (const k of this.classOrder) {
      const seats = bundle.byClass[k]!.length
      if (this.mustFill[k]) must += seats
      const gain = this.gainOf(k)
      for (let j = 0; j < seats; j++, n++) this.gains[n + 1] = this.gains[n]! + gain
    }
    if (!crew.partyMatters) return plainTable(bundle.seatCount, taken, this.gains, must)
    if (this.tablesUsed === this.tables.length) this.tables.push(new PartyTable())
    return this.tables[this.tablesUsed++]!.fill(bundle.seatCount, taken, this.gains, must, bundle.counts)
  }

  /** The cheapest people of a bundle, `most` of each list. */
  private scan(crew: CrewInfo, i: number, into: Lists, most: number, banned: readonly number[]): void {
    const { model, unitBits, prices } = this
    const bundle = crew.bundles[i]!
    const { byParty, halves, rest } = into
    const { costFactor } = this.spec
    const parties = crew.partyMatters ? 3 : 1
    for (const list of into.all) list.size = 0
    let highest = 0
    for (const s of crew.slots) highest += prices.minimum[s.slot]!
    const start = model.arcStart[bundle.group]!
    const end = model.arcStart[bundle.group + 1]!
    let a = start
    for (; a < end; a++) {
      const base = costFactor * model.arcCost[a]!
      // Prices are never negative, so nothing further on can be cheaper than this.
      if ((a & 7) === 0 && this.isDone(crew, i, into, most, base - highest)) break
      const u = model.arcUnit[a]!
      let c = base + prices.unit[u]!
      if (highest > 0)
        for (const s of crew.slots) if (unitBits[u]! & (1 << s.minimum)) c -= prices.minimum[s.slot]!
      if (banned.length > 0 && banned.includes(u)) continue
      const kind = model.arcKind[a]!
      const party = crew.partyMatters ? model.unitParty[u]! : 0
      if (kind === WHOLE) byParty[party]!.insert(most, c, u)
      else if (kind === crew.judgedHalf) halves[party]!.insert(most, c, u)
      else rest.insert(most, c, u)
    }
    this.work += a - start + 1
    const cutoff = model.groupCutoff[bundle.group]!
    if (cutoff === INF) return
    // Missing arcs of a sparse model cost at least the cutoff: stand-ins keep L a lower bound.
    const standIn = costFactor * cutoff - highest
    const lists = byParty.slice(0, parties)
    if (this.hasHalves) lists.push(...halves.slice(0, parties), rest)
    for (const list of lists) for (let n = 0; n < most; n++) list.insert(most, standIn, -1)
  }

  /** Is nobody wanted who costs `least` or more? A shared day with one of them is dearer than the dearest whole day kept of
   *  its party, even where a mixed pair saves the violation of lead and deputy. */
  private isDone(crew: CrewInfo, i: number, lists: Lists, most: number, least: number): boolean {
    const { byParty, halves, rest } = lists
    let floor = least
    if (this.hasHalves) {
      let lowest = Math.min(0, least)
      for (const list of [...halves, rest]) if (list.size > 0) lowest = Math.min(lowest, list.cost[0]!)
      const judged = i === crew.dutyFirst || i === crew.dutySecond
      floor += lowest - (judged ? this.violationPrice * this.model.instance.rules.leadDeputySameParty : 0)
    }
    const parties = crew.partyMatters ? 3 : 1
    for (let p = 0; p < parties; p++) if (!byParty[p]!.isDone(most, floor)) return false
    return true
  }
}
