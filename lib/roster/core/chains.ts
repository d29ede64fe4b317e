/** Fewer violations along chains of changes: a crew that lacks something (a speaker of a language, say) takes it from a
 *  crew elsewhere, which takes it from another, until one can spare it; whoever left the first crew closes the chain. Single
 *  exchanges only push such a violation about.
 *
 *  The cheapest chain by Dijkstra's method. A node is a seat that somebody has left, and with it what the crew is worth
 *  until the next one comes; an arc brings somebody who leaves no crew worse than it was. Within a crew one more may move
 *  up first. Arcs cost what they cost more than the prices of the roster's own pattern say (own-pattern.ts), so that a chain
 *  of many steps costs what it truly adds. A chain enters a crew once; whoever a pair rule is about stays.
 *  O(seats reached × arcs × log) a chain; at most MOST_NODES are reached.
 *  References: Dijkstra 1959; reduced costs as in Jonker & Volgenant 1987, Computing 38:325. */
import { WHOLE } from './eligibility'
import { MinHeap } from './heap'
import type { Model } from './model'
import type { SeatPrices } from './own-pattern'
import { arcCostOf, type RosterState } from './state'

const MOST_NODES = 50_000

/** Lowers violations in place, each crew's as often as a chain is found; the seats filled of each class stay. Returns how
 *  many violations (weighted) fell. */
export function mendByChains(
  model: Model,
  state: RosterState,
  prices: SeatPrices,
  aborted: () => boolean = () => false,
): number {
  const chains = new Chains(model, state, prices)
  let mended = 0
  for (let crew = 0; crew < model.crews.length; crew++) {
    if (aborted()) break
    while (state.worth(crew) > 0) {
      const gain = chains.mend(crew)
      if (gain === 0) break
      mended += gain
    }
  }
  return mended
}

/** How a chain ends. */
interface End {
  node: number
  /** Who comes to the last seat (−1: it stays empty). */
  unit: number
  /** An empty seat that whoever left the first seat takes instead, or −1. */
  refilled: number
  metres: number
}

class Chains {
  /** A node is a seat left, and what else changed in its crew: nothing (0); whoever left it moved up into the j-th seat of
   *  the crew (1 + j); or whoever the chain had in hand came to the j-th seat (1 + most + j). */
  private readonly width: number
  private readonly most: number
  /** Nodes of chains that hold somebody of the first crew; then those that hold somebody else: what is near for the one
   *  isn't for the other. */
  private readonly layer: number
  private readonly seatsOf: number[][]
  private readonly indexOf: Int32Array
  private readonly distance: Float64Array
  private readonly before: Int32Array
  private readonly root: Int32Array
  private readonly found: Int32Array
  private readonly done: Int32Array
  private search = 0
  private readonly heap = new MinHeap()
  private readonly empty: number[][]
  /** Units alike in party and minimums met, and what was found out about each kind. */
  private readonly kindOf: Int32Array
  private readonly verdict: Int8Array
  private start = 0
  private best: End | null = null

  constructor(
    private readonly model: Model,
    private readonly state: RosterState,
    private readonly prices: SeatPrices,
  ) {
    this.seatsOf = model.crews.map((crew) => crew.groups.flatMap((g) => model.groupSeats[g]!))
    this.most = this.seatsOf.reduce((most, seats) => Math.max(most, seats.length), 0)
    this.width = 1 + 2 * this.most
    this.indexOf = new Int32Array(model.seatCount)
    for (const seats of this.seatsOf) for (const [j, seat] of seats.entries()) this.indexOf[seat] = j
    this.layer = model.seatCount * this.width
    const nodes = 2 * this.layer
    this.distance = new Float64Array(nodes)
    this.before = new Int32Array(nodes)
    this.root = new Int32Array(nodes)
    this.found = new Int32Array(nodes)
    this.done = new Int32Array(nodes)
    this.empty = model.classes.map(() => [])
    const kinds = new Map<string, number>()
    this.kindOf = Int32Array.from({ length: model.unitCount }, (_, u) => {
      const key = `${model.unitParty[u]} ${state.unitBits[u]}`
      if (!kinds.has(key)) kinds.set(key, kinds.size)
      return kinds.get(key)!
    })
    this.verdict = new Int8Array(kinds.size)
  }

  private readonly seatOf = (node: number): number => Math.floor((node % this.layer) / this.width)

  private get least(): number {
    return this.best ? this.best.metres : Number.POSITIVE_INFINITY
  }

  /** Violations (weighted) that the cheapest chain from this crew mended; 0: none was found. */
  mend(start: number): number {
    const { heap, model, state } = this
    this.search++
    this.start = start
    this.best = null
    heap.clear()
    for (const seats of this.empty) seats.length = 0
    for (let s = 0; s < model.seatCount; s++)
      if (state.first[s]! < 0 && model.seatGroup[s]! >= 0)
        this.empty[model.groupClass[model.seatGroup[s]!]!]!.push(s)
    for (const seat of this.seatsOf[start]!) if (this.moves(seat)) this.reach(seat * this.width, 0, -1, seat)
    for (let n = 0; n < MOST_NODES && heap.size > 0; ) {
      const key = heap.topKey
      const node = heap.pop()
      if (this.done[node] === this.search || key > this.distance[node]!) continue
      if (key >= this.least) break
      this.done[node] = this.search
      this.extend(node)
      n++
    }
    return this.apply()
  }

  /** May whoever sits there (or nobody) leave it? */
  private moves(seat: number): boolean {
    const unit = this.state.first[seat]!
    return this.state.second[seat]! < 0 && (unit < 0 || !this.state.isPaired(unit))
  }

  /** Has a chain of at most that many metres come to the node before? */
  private isNear(node: number, distance: number): boolean {
    return this.found[node] === this.search && distance >= this.distance[node]!
  }

  private reach(node: number, distance: number, before: number, root: number): void {
    if (this.isNear(node, distance)) return
    this.found[node] = this.search
    this.distance[node] = distance
    this.before[node] = before
    this.root[node] = root
    this.heap.push(distance, node)
  }

  private isOnPath(node: number, crew: number): boolean {
    for (let at = node; at >= 0; at = this.before[at]!)
      if (this.model.seatCrew[this.seatOf(at)] === crew) return true
    return false
  }

  /** What the crew is worth with somebody (−1: nobody) in the seat of a node. */
  private worthWith(node: number, unit: number): number {
    const { state, model, most } = this
    const { first } = state
    const seat = this.seatOf(node)
    const crew = model.seatCrew[seat]!
    const what = node % this.width
    const inSeat = first[seat]!
    first[seat] = unit
    if (what === 0) {
      const worth = state.worth(crew)
      first[seat] = inSeat
      return worth
    }
    const other = this.seatsOf[crew]![(what - 1) % most]!
    const inOther = first[other]!
    first[other] = what <= most ? inSeat : this.inHand(this.before[node]!)
    const worth = state.worth(crew)
    first[other] = inOther
    first[seat] = inSeat
    return worth
  }

  /** Who has left the first seat of the chain up to a node, and sits nowhere yet; −1: nobody. */
  private readonly inHand = (node: number): number => this.state.first[this.root[node]!]!

  /** Is the crew no worse than before with somebody (−1: nobody) in the seat? The first one has to be better. */
  private isWelcome(node: number, unit: number): boolean {
    const crew = this.model.seatCrew[this.seatOf(node)]!
    const before = this.state.worth(crew)
    const after = this.worthWith(node, unit)
    return crew === this.start ? after < before : after <= before
  }

  private extend(node: number): void {
    const { model, state, prices, verdict, kindOf } = this
    const seat = this.seatOf(node)
    const crew = model.seatCrew[seat]!
    const group = model.seatGroup[seat]!
    const root = this.root[node]!
    const layer = node < this.layer ? 0 : this.layer
    const base = this.distance[node]! - prices.seat[seat]!
    this.close(node)
    verdict.fill(-1)
    // Moving up helps where not everybody will do.
    const choosy = node % this.width === 0 && !this.isWelcome(node, -1)
    for (let a = model.arcStart[group]!; a < model.arcStart[group + 1]!; a++) {
      const unit = model.arcUnit[a]!
      if (model.arcKind[a] !== WHOLE || model.unitLocked[unit]) continue
      const from = state.seatOfUnit[unit]!
      const distance = Math.max(this.distance[node]!, base + model.arcCost[a]! + prices.unit[unit]!)
      if (distance >= this.least) continue
      if (from >= 0 && model.seatCrew[from] === crew) {
        if (!choosy || from === seat || !this.moves(from)) continue
        this.reach(layer + from * this.width + 1 + this.indexOf[seat]!, distance, node, root)
        continue
      }
      const next = layer + from * this.width
      if (from >= 0 && (this.isNear(next, distance) || !this.moves(from))) continue
      if (from < 0 && (state.first[root]! < 0 || state.isPaired(unit))) continue
      const kind = kindOf[unit]!
      if (verdict[kind] === -1) verdict[kind] = this.isWelcome(node, unit) ? 1 : 0
      if (verdict[kind] === 0) continue
      if (from < 0) this.end({ node, unit, refilled: -1, metres: distance })
      else if (!this.isOnPath(node, model.seatCrew[from]!)) this.reach(next, distance, node, root)
    }
  }

  private end(end: End): void {
    if (end.metres < this.least) this.best = end
  }

  /** Ends a chain by whoever left its first seat, or by the seat staying empty for another of its class. */
  private close(node: number): void {
    const { model, state, prices } = this
    const seat = this.seatOf(node)
    const root = this.root[node]!
    const group = model.seatGroup[seat]!
    const left = this.inHand(node)
    const price = this.distance[node]! - prices.seat[seat]!
    const same = this.empty[model.groupClass[group]!]!
    const inPlace = () => this.isWelcome(node, -1)
    if (left < 0) {
      const whose = model.groupClass[model.seatGroup[root]!]
      if (seat !== root && whose === model.groupClass[group] && inPlace())
        this.end({ node, unit: -1, refilled: -1, metres: price })
      return
    }
    const cost = seat === root ? -1 : arcCostOf(model, group, left, WHOLE)
    if (cost >= 0) {
      const metres = Math.max(this.distance[node]!, price + cost + prices.unit[left]!)
      if (this.isWelcome(node, left)) this.end({ node, unit: left, refilled: -1, metres })
      else if (node % this.width === 0 && model.seatCrew[seat] !== this.start) this.goOn(node, metres)
    }
    if (same.length === 0 || !inPlace()) return
    for (const refilled of same) {
      const there = arcCostOf(model, model.seatGroup[refilled]!, left, WHOLE)
      const metres = price + prices.unit[left]! + there
      if (there < 0 || metres >= this.least) continue
      const crew = model.seatCrew[refilled]!
      if (this.isOnPath(node, crew)) continue
      const before = state.worth(crew)
      state.first[refilled] = left
      const after = state.worth(crew)
      state.first[refilled] = -1
      if (after <= before) this.end({ node, unit: -1, refilled, metres })
    }
  }

  /** Whoever is in hand comes to the seat of a node, and somebody else of its crew leaves. */
  private goOn(node: number, metres: number): void {
    const seat = this.seatOf(node)
    const what = 1 + this.most + this.indexOf[seat]!
    for (const other of this.seatsOf[this.model.seatCrew[seat]!]!)
      if (other !== seat && this.state.first[other]! >= 0 && this.moves(other))
        this.reach(this.layer + other * this.width + what, metres, node, other)
  }

  /** Makes a chain's changes; undoes them and returns 0 where they mend nothing. */
  private apply(): number {
    if (!this.best) return 0
    const { state, model } = this
    const { node, unit, refilled } = this.best
    const path: number[] = []
    const comes: number[] = [unit]
    for (let at = node; at >= 0; at = this.before[at]!) {
      path.push(this.seatOf(at))
      const handed = at % this.width > this.most
      comes.push(handed ? this.inHand(this.before[at]!) : state.first[this.seatOf(at)]!)
    }
    const old = path.map((seat) => state.first[seat]!)
    const seats = refilled < 0 ? path : [...path, refilled]
    const left = this.inHand(node)
    const crews = new Set(seats.map((seat) => model.seatCrew[seat]!))
    const worth = () => [...crews].reduce((sum, crew) => sum + state.worth(crew), 0)
    const before = worth()
    for (const seat of path) state.put(seat, 0, -1)
    for (const [i, seat] of path.entries()) state.put(seat, 0, comes[i]!)
    if (refilled >= 0) state.put(refilled, 0, left)
    const gain = before - worth()
    if (gain > 0) return gain
    for (const seat of seats) state.put(seat, 0, -1)
    for (const [i, seat] of path.entries()) state.put(seat, 0, old[i]!)
    return 0
  }
}
