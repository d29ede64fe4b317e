/** Fewer violations along chains of exchanges: a crew that lacks something (a speaker of a language, say) takes it from a
 *  crew nearby, which takes it from another, until one can spare it. Single exchanges only push such a violation about.
 *
 *  Cheapest chains first from each crew with violations; a step exchanges one of its people with somebody elsewhere (or who sits
 *  nowhere, or with an empty seat of the same class) so that its own violations fall and no more come to the other crew.
 *  The chain before a step is in place while the step is valued, so a chain that ends with fewer violations has them.
 *  O(crews reached × seats × arcs) a chain; at most MOST_CREWS are reached. */
import { WHOLE } from './eligibility'
import type { Model } from './model'
import { arcCostOf, type RosterState } from './state'

const MOST_CREWS = 4000

interface Step {
  seat: number
  unit: number
  /** Where the unit sat, or −1. */
  from: number
  /** Who sat in `seat`, or −1. */
  old: number
  /** What the exchange adds to the cost. */
  metres: number
}

interface Node {
  /** Crew that the violations have been pushed to; END: none is left of them, or fewer. */
  crew: number
  steps: readonly Step[]
  /** Metres that the chain adds. */
  metres: number
  /** Violations (weighted) that it mends. */
  gain: number
}

const END = -1

/** Lowers violations in place; the seats filled of each class stay. Returns how many violations (weighted) fell. */
export function mendByChains(model: Model, state: RosterState, aborted: () => boolean = () => false): number {
  const chains = new Chains(model, state)
  let mended = 0
  for (;;) {
    let round = 0
    for (let crew = 0; crew < model.crews.length; crew++) {
      if (aborted()) return mended
      while (state.crewViolation(crew) > 0) {
        const gain = chains.mend(crew)
        if (gain === 0) break
        round += gain
      }
    }
    mended += round
    if (round === 0) return mended
  }
}

class Chains {
  /** Search in which the chains from a crew were extended last. */
  private readonly extendedAt: Int32Array
  private search = 0

  constructor(
    private readonly model: Model,
    private readonly state: RosterState,
  ) {
    this.extendedAt = new Int32Array(model.crews.length)
  }

  /** Violations (weighted) that the cheapest chain from this crew mended; 0: none was found. */
  mend(start: number): number {
    this.search++
    /** The cheapest chain to each crew. */
    const open = new Map<number, Node>([[start, { crew: start, steps: [], metres: 0, gain: 0 }]])
    for (let crews = 0; open.size > 0 && crews < MOST_CREWS; crews++) {
      const node = cheapestOf(open)
      open.delete(node.crew)
      for (const step of node.steps) this.take(step)
      if (node.crew === END) return node.gain
      this.extendedAt[node.crew] = this.search
      this.extend(node, open)
      for (const step of node.steps.toReversed()) this.undo(step)
    }
    return 0
  }

  /** Every step from a crew, with its chain in place. */
  private extend(node: Node, open: Map<number, Node>): void {
    const { model, state } = this
    const lacks = this.lacks(node.crew)
    for (const group of model.crews[node.crew]!.groups)
      for (const seat of model.groupSeats[group]!) {
        if (state.second[seat]! >= 0) continue
        for (let a = model.arcStart[group]!; a < model.arcStart[group + 1]!; a++) {
          const unit = model.arcUnit[a]!
          if (model.arcKind[a] !== WHOLE || (lacks !== 0 && (state.unitBits[unit]! & lacks) === 0)) continue
          const step = this.stepOf(node.crew, seat, unit, model.arcCost[a]!)
          const found = step && this.tryStep(node, step)
          if (found && found.metres < (open.get(found.crew)?.metres ?? Number.POSITIVE_INFINITY))
            open.set(found.crew, found)
        }
      }
  }

  /** Bits of the minimums that a crew falls short of, where nothing else is the matter; 0: anybody may help. */
  private lacks(crew: number): number {
    const { state } = this
    return state.worth(crew) === state.shortfall(crew) ? state.lacking(crew) : 0
  }

  /** Null where the exchange isn't open or would change the seats filled. */
  private stepOf(crew: number, seat: number, unit: number, cost: number): Step | null {
    const { model, state } = this
    const old = state.first[seat]!
    const from = state.seatOfUnit[unit]!
    if (unit === old || (old < 0 && from < 0)) return null
    const group = model.seatGroup[seat]!
    let metres = old < 0 ? cost : cost - arcCostOf(model, group, old)
    if (from < 0) return { seat, unit, from, old, metres }
    const other = model.seatCrew[from]!
    if (other === crew || this.extendedAt[other] === this.search || state.second[from]! >= 0) return null
    const there = model.seatGroup[from]!
    metres -= arcCostOf(model, there, unit)
    if (old < 0)
      return model.groupClass[there] === model.groupClass[group] ? { seat, unit, from, old, metres } : null
    const back = arcCostOf(model, there, old, WHOLE)
    return back < 0 ? null : { seat, unit, from, old, metres: metres + back }
  }

  /** The chain with one more step; null where the step mends nothing here or harms more elsewhere. */
  private tryStep(node: Node, step: Step): Node | null {
    const { state, model } = this
    const other = step.from < 0 ? END : model.seatCrew[step.from]!
    const paired = [step.unit, step.old].filter((u) => u >= 0 && state.isPaired(u))
    const beyond = () =>
      paired.reduce((sum, u) => sum + state.pairViolation(u), other === END ? 0 : state.worth(other))
    const here = state.worth(node.crew)
    const there = beyond()
    this.take(step)
    const rise = beyond() - there
    const gain = here - state.worth(node.crew) - rise
    this.undo(step)
    if (gain < 0 || (gain === 0 && (rise <= 0 || other === END))) return null
    return {
      crew: gain > 0 ? END : other,
      steps: [...node.steps, step],
      metres: node.metres + Math.max(0, step.metres),
      gain,
    }
  }

  private take({ seat, unit, from, old }: Step): void {
    this.state.put(seat, 0, unit)
    if (from >= 0) this.state.put(from, 0, old)
  }

  private undo({ seat, unit, from, old }: Step): void {
    this.state.put(seat, 0, old)
    if (from >= 0) this.state.put(from, 0, unit)
  }
}

function cheapestOf(open: ReadonlyMap<number, Node>): Node {
  let best: Node | null = null
  for (const node of open.values()) if (!best || node.metres < best.metres) best = node
  return best!
}
