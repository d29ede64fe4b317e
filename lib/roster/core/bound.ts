/** Lower bounds by Lagrangian relaxation: 'a person once a date' is priced, what is left falls apart into crews, and
 *  each crew is solved exactly (which is stronger than the linear relaxation: odd crews and small caps are handled as
 *  whole numbers).
 *
 *  Notation. π_u ≥ 0 price of unit u; μ_k price of one filled seat of class k; ν_cm in [0, λ w_m] price of minimum m
 *  in crew c; λ ≥ 0 price of one violation. With N_k seats filled in class k and (level 3) V violations at most:
 *    L = Σ_crews min over crew choices [ Σ (α cost + π_u − ν of the minimums met − μ_k) + λ (balance, lead/deputy) ]
 *        + Σ_c Σ_m ν_cm (count_m − locked members) − Σ_u π_u + Σ_k μ_k N_k − λ V
 *  is at most the level's optimum for every choice of prices (weak duality). A class whose seats are all filled has no
 *  empty seat to price: its seats must be filled. Keep-apart and keep-together are left out (never negative), and so
 *  are the balance in a crew with half-day members, lead/deputy in crews with several lead or deputy groups, and that
 *  one person could take seats of two groups of one crew: each only lowers L.
 *
 *  Crew: groups are combined over the difference of the two parties (and the leads' party where that rule applies);
 *  a group's k seats take the cheapest of each party class. O(scanned arcs + groups × seats² × difference) a crew.
 *  Prices by the subgradient method with Polyak's step. References: Held, Wolfe & Crowder 1974, Math. Prog. 6:62;
 *  Geoffrion 1974; Fisher 1981, Management Science 27:1.
 */

import { type CrewInfo, combine, type GroupTable, PartyTable, plainTable } from './bound-tables'
import { meetsMinimum, partiesOf, partyClass, WHOLE } from './eligibility'
import type { Model } from './model'

export interface Prices {
  unit: Float64Array
  /** By class. */
  filled: Float64Array
  /** By crew position in `minimumSlots`. */
  minimum: Float64Array
  violation: number
}

export interface BoundSpec {
  /** 1: level 3; 0: levels 1 and 2. */
  costFactor: number
  /** Weight of one violation in the objective itself (level 2: the scale). */
  violationFactor: number
  /** Level 3: violations allowed (V). Null at levels 1 and 2. */
  allowedViolations: number | null
  /** Seats of class k filled (N_k); null: free (level 1 in that class). */
  filled: (number | null)[]
  /** Level 1: what a filled seat of class k earns. */
  earn: Float64Array
}

export interface BoundResult {
  value: number
  /** Uses of each unit in the crews' choices. */
  use: Int32Array
  filled: Float64Array
  /** Balance and lead/deputy violations chosen. */
  violations: number
  /** Minimum slots: count − members met in the choices. */
  shortfall: Float64Array
  /** Chosen unit of each seat's first slot (−1 empty; −2 shared), when asked for. */
  choice: Int32Array | null
}

const INF = Number.POSITIVE_INFINITY

/** Keeps the `seats` cheapest of a list in order; returns how many it holds. */
function insert(
  cost: Float64Array,
  unit: Int32Array,
  seats: number,
  count: number,
  c: number,
  u: number,
): number {
  if (count === seats && c >= cost[count - 1]!) return count
  let i = count < seats ? count : seats - 1
  for (; i > 0 && cost[i - 1]! > c; i--) {
    cost[i] = cost[i - 1]!
    unit[i] = unit[i - 1]!
  }
  cost[i] = c
  unit[i] = u
  return count < seats ? count + 1 : count
}

export class LagrangianBound {
  readonly crews: CrewInfo[]
  readonly slotCount: number
  readonly slotKeys: string[]
  private readonly slotWeight: number[]
  private readonly unitBits: Int32Array
  private readonly maxSeats: number
  private readonly tables: PartyTable[] = []
  work = 0

  constructor(
    readonly model: Model,
    unitBits: Int32Array,
  ) {
    this.unitBits = unitBits
    const { rules, people, seats } = model.instance
    const [a, b] = partiesOf(model.instance)
    this.slotKeys = []
    this.slotWeight = []
    let maxSeats = 1
    this.crews = model.crews.map((crew) => {
      let halves = crew.locked.some((l) => l.half !== WHOLE)
      for (const g of crew.groups) {
        maxSeats = Math.max(maxSeats, model.groupSeats[g]!.length)
        if (model.groupShift[g] !== WHOLE) halves = true
        for (let i = model.arcStart[g]!; i < model.arcStart[g + 1]! && !halves; i++)
          if (model.arcKind[i] !== WHOLE) halves = true
      }
      const balance =
        !halves && rules.balance !== null && (rules.balance.mode === 'hard' || rules.balance.weight > 0)
      let lockedDifference = 0
      const dutyParties = [0, 0, 0]
      for (const l of crew.locked) {
        const party = partyClass(people[l.person]!.party, a, b)
        lockedDifference += party === 0 ? 1 : party === 1 ? -1 : 0
        const duty = seats[l.seat]!.duty
        if (duty) dutyParties[duty === 'lead' ? 1 : 2]! |= 1 << party
      }
      const info: CrewInfo = {
        groups: crew.groups,
        order: [],
        partyMatters: false,
        balance,
        lockedDifference,
        dutyFirst: -1,
        dutySecond: -1,
        dutyStart: 0,
        dutyConstant: 0,
        slots: [],
        seats: crew.groups.reduce((sum, g) => sum + model.groupSeats[g]!.length, 0),
      }
      if (rules.leadDeputySameParty > 0 && rules.balance !== null && !halves) {
        const leads = crew.groups.filter((g) => model.groupDuty[g] === 1)
        const deputies = crew.groups.filter((g) => model.groupDuty[g] === 2)
        const [, l, d] = dutyParties as [number, number, number]
        const clean = (bits: number) => (bits === 1 ? 1 : bits === 2 ? 2 : 0)
        if (leads.length === 1 && deputies.length === 1 && l === 0 && d === 0) {
          info.dutyFirst = leads[0]!
          info.dutySecond = deputies[0]!
        } else if (leads.length === 0 && deputies.length === 1 && d === 0 && clean(l) > 0) {
          info.dutyStart = clean(l)
          info.dutySecond = deputies[0]!
        } else if (deputies.length === 0 && leads.length === 1 && l === 0 && clean(d) > 0) {
          info.dutyStart = clean(d)
          info.dutySecond = leads[0]!
        } else if (leads.length === 0 && deputies.length === 0 && l === d && clean(l) > 0)
          info.dutyConstant = 1
      }
      info.partyMatters = balance || info.dutySecond >= 0
      const rank = (g: number) => (g === info.dutyFirst ? 0 : g === info.dutySecond ? 1 : 2)
      info.order = crew.groups
        .map((_, i) => i)
        .sort((x, y) => rank(crew.groups[x]!) - rank(crew.groups[y]!) || x - y)
      for (const m of crew.minimums) {
        if (m >= 31) continue
        const rule = rules.minimums[m]!
        const have = crew.locked.filter((l) => meetsMinimum(people[l.person]!, rule)).length
        if (have >= rule.count || rule.weight === 0) continue
        info.slots.push({ slot: this.slotKeys.length, minimum: m, need: rule.count - have })
        this.slotKeys.push(`${m}|${crew.key}`)
        this.slotWeight.push(rule.weight)
      }
      return info
    })
    this.slotCount = this.slotKeys.length
    this.maxSeats = maxSeats
  }

  freshPrices(): Prices {
    return {
      unit: new Float64Array(this.model.unitCount),
      filled: new Float64Array(this.model.classes.length),
      minimum: new Float64Array(this.slotCount),
      violation: 0,
    }
  }

  /** Price of a violation in all: objective and multiplier. */
  private violationPrice(spec: BoundSpec, prices: Prices): number {
    return spec.violationFactor + (spec.allowedViolations === null ? 0 : prices.violation)
  }

  /** Brings prices into their ranges. */
  clip(spec: BoundSpec, prices: Prices): void {
    for (let u = 0; u < prices.unit.length; u++) if (prices.unit[u]! < 0) prices.unit[u] = 0
    if (prices.violation < 0) prices.violation = 0
    const price = this.violationPrice(spec, prices)
    for (let i = 0; i < this.slotCount; i++) {
      const top = price * this.slotWeight[i]!
      if (prices.minimum[i]! < 0) prices.minimum[i] = 0
      else if (prices.minimum[i]! > top) prices.minimum[i] = top
    }
  }

  /** Weighted shortfall of minimums whose price is as high as that of a violation lets it be: a higher price of a
   *  violation is worth that much more. */
  heldDown(spec: BoundSpec, prices: Prices, shortfall: Float64Array): number {
    const price = this.violationPrice(spec, prices)
    let sum = 0
    for (let i = 0; i < this.slotCount; i++) {
      const weight = this.slotWeight[i]!
      if (shortfall[i]! > 0 && prices.minimum[i]! >= price * weight) sum += weight * shortfall[i]!
    }
    return sum
  }

  private tableAt(group: number): PartyTable {
    this.tables[group] ??= new PartyTable()
    return this.tables[group]!
  }

  /** L for given prices, with the choices that reach it. */
  evaluate(spec: BoundSpec, prices: Prices, wantChoice = false): BoundResult {
    const { model, unitBits } = this
    const rules = model.instance.rules
    const violationPrice = this.violationPrice(spec, prices)
    const hard = rules.balance?.mode === 'hard'
    const allowed = rules.balance?.maxDifference ?? 0
    const excessPrice = hard ? INF : violationPrice * (rules.balance?.weight ?? 0)
    const use = new Int32Array(model.unitCount)
    const filled = new Float64Array(model.classes.length)
    const shortfall = new Float64Array(this.slotCount)
    const choice = wantChoice ? new Int32Array(model.seatCount).fill(-1) : null
    const mustFill = model.classes.map((c, k) => spec.filled[k] === c.seats)
    let value = 0
    let violations = 0
    const K = this.maxSeats
    // Cheapest lists of each party class: value and unit (pairs: two units).
    const listCost = [0, 1, 2].map(() => new Float64Array(K))
    const listUnit = [0, 1, 2].map(() => new Int32Array(K))
    const morningCost = new Float64Array(K)
    const morningUnit = new Int32Array(K)
    const afternoonCost = new Float64Array(K)
    const afternoonUnit = new Int32Array(K)

    for (const crew of this.crews) {
      let maxPrice = 0
      for (const s of crew.slots) {
        const nu = prices.minimum[s.slot]!
        maxPrice += nu
        value += nu * s.need
        shortfall[s.slot] = s.need
      }
      value += crew.dutyConstant * violationPrice * rules.leadDeputySameParty
      violations += crew.dutyConstant * rules.leadDeputySameParty
      const tables: GroupTable[] = []
      for (const g of crew.groups) {
        const seats = model.groupSeats[g]!.length
        const size = [0, 0, 0]
        let morningSize = 0
        let afternoonSize = 0
        const start = model.arcStart[g]!
        const end = model.arcStart[g + 1]!
        let a = start
        for (; a < end; a++) {
          const base = spec.costFactor * model.arcCost[a]!
          // Prices are never negative, so nothing further on can be cheaper than this.
          if (
            (a & 7) === 0 &&
            size[0] === seats &&
            (!crew.partyMatters || (size[1] === seats && size[2] === seats)) &&
            base - maxPrice >= listCost[0]![seats - 1]! &&
            (!crew.partyMatters ||
              (base - maxPrice >= listCost[1]![seats - 1]! && base - maxPrice >= listCost[2]![seats - 1]!))
          )
            if (morningSize === 0 && afternoonSize === 0) break
          const u = model.arcUnit[a]!
          let c = base + prices.unit[u]!
          if (maxPrice > 0)
            for (const s of crew.slots) if (unitBits[u]! & (1 << s.minimum)) c -= prices.minimum[s.slot]!
          const kind = model.arcKind[a]!
          if (kind === WHOLE) {
            const list = crew.partyMatters ? model.unitParty[u]! : 0
            size[list] = insert(listCost[list]!, listUnit[list]!, seats, size[list]!, c, u)
          } else if (kind === 1) morningSize = insert(morningCost, morningUnit, seats, morningSize, c, u)
          else afternoonSize = insert(afternoonCost, afternoonUnit, seats, afternoonSize, c, u)
        }
        this.work += a - start + 1
        const cutoff = model.groupCutoff[g]!
        // Missing arcs of a sparse model cost at least the cutoff: stand-ins keep L a lower bound.
        if (cutoff !== INF)
          for (let list = 0; list < (crew.partyMatters ? 3 : 1); list++)
            for (let i = 0; i < seats; i++)
              size[list] = insert(
                listCost[list]!,
                listUnit[list]!,
                seats,
                size[list]!,
                spec.costFactor * cutoff - maxPrice,
                -1,
              )
        const k = model.groupClass[g]!
        const gain = prices.filled[k]! + spec.earn[k]!
        tables.push(
          crew.partyMatters
            ? this.tableAt(tables.length).fill(seats, listCost, listUnit, size, gain, mustFill[k]!)
            : plainTable(
                seats,
                listCost[0]!,
                listUnit[0]!,
                size[0]!,
                { cost: morningCost, unit: morningUnit, size: morningSize },
                { cost: afternoonCost, unit: afternoonUnit, size: afternoonSize },
                gain,
                mustFill[k]!,
              ),
        )
      }
      // Combine.
      let chosen: number[]
      let total = 0
      if (!crew.partyMatters) {
        chosen = tables.map((t) => {
          total += t.best[0]!
          return 0
        })
      } else {
        const combined = combine(
          tables,
          crew,
          crew.groups,
          // Locked members may break a hard balance on their own; nobody may make it worse.
          hard ? Math.max(allowed, Math.abs(crew.lockedDifference)) : allowed,
          crew.balance ? excessPrice : 0,
          violationPrice * rules.leadDeputySameParty,
        )
        total = combined.value
        chosen = combined.chosen
        violations += combined.excess * (rules.balance?.weight ?? 0) * (hard ? 0 : 1)
        violations += combined.sameParty * rules.leadDeputySameParty
      }
      value += total
      crew.groups.forEach((g, i) => {
        const units = tables[i]!.units(chosen[i]!)
        let n = 0
        for (const u of units.list) {
          if (u >= 0) {
            use[u] = use[u]! + 1
            for (const s of crew.slots)
              if (unitBits[u]! & (1 << s.minimum)) shortfall[s.slot] = shortfall[s.slot]! - 1
          }
          if (choice && n < units.whole) choice[model.groupSeats[g]![n]!] = u
          n++
        }
        filled[model.groupClass[g]!] = filled[model.groupClass[g]!]! + units.filled
      })
    }
    for (let u = 0; u < model.unitCount; u++) value -= prices.unit[u]!
    for (let k = 0; k < model.classes.length; k++) {
      filled[k] = filled[k]! + model.lockedFilled[k]!
      value -= model.lockedFilled[k]! * (prices.filled[k]! + spec.earn[k]!)
      const n = spec.filled[k]
      if (n !== null && n !== undefined) value += prices.filled[k]! * n
    }
    if (spec.allowedViolations !== null) value -= prices.violation * spec.allowedViolations
    value += spec.costFactor * model.lockedCost
    return { value, use, filled, violations, shortfall, choice }
  }
}
