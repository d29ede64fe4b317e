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
import { type Model, meetsMinimum, partiesOf, partyClass, WHOLE } from './model'

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

interface CrewInfo {
  groups: number[]
  partyMatters: boolean
  balance: boolean
  lockedDifference: number
  /** Lead/deputy rule: group that is decided first, group judged second, or a locked start. */
  dutyFirst: number
  dutySecond: number
  dutyStart: number
  dutyConstant: number
  slots: { slot: number; minimum: number; need: number }[]
  seats: number
}

export class LagrangianBound {
  readonly crews: CrewInfo[]
  readonly slotCount: number
  readonly slotKeys: string[]
  private readonly slotWeight: number[]
  private readonly unitBits: Int32Array
  private readonly maxSeats: number
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
        const insert = (
          cost: Float64Array,
          unit: Int32Array,
          count: number,
          c: number,
          u: number,
        ): number => {
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
            size[list] = insert(listCost[list]!, listUnit[list]!, size[list]!, c, u)
          } else if (kind === 1) morningSize = insert(morningCost, morningUnit, morningSize, c, u)
          else afternoonSize = insert(afternoonCost, afternoonUnit, afternoonSize, c, u)
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
                size[list]!,
                spec.costFactor * cutoff - maxPrice,
                -1,
              )
        const k = model.groupClass[g]!
        const gain = prices.filled[k]! + spec.earn[k]!
        tables.push(
          crew.partyMatters
            ? partyTable(seats, listCost, listUnit, size, gain, mustFill[k]!)
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

interface GroupTable {
  /** By type (0 clean or empty, 1 all of the first party, 2 all of the second) × (difference + seats). */
  best: Float64Array
  /** Composition that reaches each entry. */
  how: Int32Array
  seats: number
  units(entry: number): { list: number[]; whole: number; filled: number }
}

function partyTable(
  seats: number,
  cost: Float64Array[],
  unit: Int32Array[],
  size: number[],
  gain: number,
  mustFill: boolean,
): GroupTable {
  const width = 2 * seats + 1
  const best = new Float64Array(3 * width).fill(INF)
  const how = new Int32Array(3 * width).fill(-1)
  const lists = unit.map((u) => u.slice(0, seats))
  let sumA = 0
  for (let a = 0; a <= Math.min(seats, size[0]!); a++) {
    if (a > 0) sumA += cost[0]![a - 1]!
    let sumB = 0
    for (let b = 0; b <= Math.min(seats - a, size[1]!); b++) {
      if (b > 0) sumB += cost[1]![b - 1]!
      let sumO = 0
      for (let o = 0; o <= Math.min(seats - a - b, size[2]!); o++) {
        if (o > 0) sumO += cost[2]![o - 1]!
        const n = a + b + o
        if (mustFill && n < seats) continue
        const type = n === 0 || o > 0 || (a > 0 && b > 0) ? 0 : a > 0 ? 1 : 2
        const at = type * width + (a - b + seats)
        const c = sumA + sumB + sumO - gain * n
        if (c < best[at]!) {
          best[at] = c
          how[at] = (a << 16) | (b << 8) | o
        }
      }
    }
  }
  return {
    best,
    how,
    seats,
    units(entry) {
      const code = how[entry]!
      const a = code >> 16
      const b = (code >> 8) & 255
      const o = code & 255
      const list: number[] = []
      for (let i = 0; i < a; i++) list.push(lists[0]![i]!)
      for (let i = 0; i < b; i++) list.push(lists[1]![i]!)
      for (let i = 0; i < o; i++) list.push(lists[2]![i]!)
      return { list, whole: list.length, filled: list.length }
    },
  }
}

interface HalfList {
  cost: Float64Array
  unit: Int32Array
  size: number
}

function plainTable(
  seats: number,
  cost: Float64Array,
  unit: Int32Array,
  size: number,
  morning: HalfList,
  afternoon: HalfList,
  gain: number,
  mustFill: boolean,
): GroupTable {
  const list: number[] = []
  const shared: number[] = []
  const pairs = Math.min(morning.size, afternoon.size)
  let total = 0
  let w = 0
  let p = 0
  while (w + p < seats) {
    const whole = w < size ? cost[w]! : INF
    const pair = p < pairs ? morning.cost[p]! + afternoon.cost[p]! : INF
    const next = Math.min(whole, pair)
    if (next === INF || (!mustFill && next - gain >= 0)) break
    total += next - gain
    if (whole <= pair) list.push(unit[w++]!)
    else {
      shared.push(morning.unit[p]!, afternoon.unit[p]!)
      p++
    }
  }
  if (mustFill && w + p < seats) total = INF
  return {
    best: Float64Array.of(total),
    how: Int32Array.of(0),
    seats,
    units: () => ({ list: [...list, ...shared], whole: list.length, filled: w + p }),
  }
}

/** Dynamic programme over a crew's groups: state = duty type × party difference. */
function combine(
  tables: GroupTable[],
  crew: CrewInfo,
  groups: number[],
  allowed: number,
  excessPrice: number,
  sameParty: number,
): { value: number; chosen: number[]; excess: number; sameParty: number } {
  const S = tables.reduce((sum, t) => sum + t.seats, 0)
  const width = 2 * S + 1
  // The group decided first comes first, the judged one second; the rest follow.
  const order = groups.map((_, i) => i)
  order.sort((x, y) => rankOf(groups[x]!) - rankOf(groups[y]!) || x - y)
  function rankOf(g: number): number {
    return g === crew.dutyFirst ? 0 : g === crew.dutySecond ? 1 : 2
  }
  // Duty type: 0 clean so far or judged, 1/2 leads all of that party, +3 when a same-party violation was counted.
  const states = 4 * width
  let current = new Float64Array(states).fill(INF)
  current[crew.dutyStart * width + S] = 0
  const backs: Int32Array[] = []
  let reach = 0
  for (const i of order) {
    const t = tables[i]!
    const w = 2 * t.seats + 1
    const next = new Float64Array(states).fill(INF)
    const back = new Int32Array(states).fill(-1)
    const first = groups[i] === crew.dutyFirst
    const second = groups[i] === crew.dutySecond
    // Where the duty rule doesn't look at this group, only the cheapest type of each difference matters.
    const entries: number[] = []
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
    current = next
    backs.push(back)
  }
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
  for (let n = order.length - 1; n >= 0; n--) {
    const code = backs[n]![at]!
    chosen[order[n]!] = code % 4096
    at = Math.floor(code / 4096)
  }
  return { value, chosen, excess, sameParty: same }
}
