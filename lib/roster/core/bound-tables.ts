/** Tables of one crew in the Lagrangian bound: what each group costs by party difference, and the groups combined. */

const INF = Number.POSITIVE_INFINITY

export interface CrewInfo {
  groups: number[]
  /** Positions of the groups: the one decided first, the judged one, the rest. */
  order: number[]
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

export interface GroupTable {
  /** By type (0 clean or empty, 1 all of the first party, 2 all of the second) × (difference + seats). */
  best: Float64Array
  /** Composition that reaches each entry. */
  how: Int32Array
  seats: number
  units(entry: number): { list: number[]; whole: number; filled: number }
}

/** A group's table where parties matter; its arrays serve one crew after another. */
export class PartyTable implements GroupTable {
  best = new Float64Array(0)
  how = new Int32Array(0)
  seats = 0
  private lists: Int32Array[] = []

  /** @param cost, unit, size the cheapest people of each party class, in order. */
  fill(
    seats: number,
    cost: Float64Array[],
    unit: Int32Array[],
    size: number[],
    gain: number,
    mustFill: boolean,
  ): this {
    const width = 2 * seats + 1
    if (seats !== this.seats) {
      this.seats = seats
      this.best = new Float64Array(3 * width)
      this.how = new Int32Array(3 * width)
      this.lists = [0, 1, 2].map(() => new Int32Array(seats))
    }
    const { best, how, lists } = this
    best.fill(INF)
    for (let p = 0; p < 3; p++) for (let i = 0; i < size[p]!; i++) lists[p]![i] = unit[p]![i]!
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
    return this
  }

  units(entry: number): { list: number[]; whole: number; filled: number } {
    const code = this.how[entry]!
    const list: number[] = []
    for (let i = 0; i < code >> 16; i++) list.push(this.lists[0]![i]!)
    for (let i = 0; i < ((code >> 8) & 255); i++) list.push(this.lists[1]![i]!)
    for (let i = 0; i < (code & 255); i++) list.push(this.lists[2]![i]!)
    return { list, whole: list.length, filled: list.length }
  }
}

interface HalfList {
  cost: Float64Array
  unit: Int32Array
  size: number
}

export function plainTable(
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

/** Arrays of `combine`, used again by each crew: grown, never shrunk. */
const scratch = {
  current: new Float64Array(0),
  next: new Float64Array(0),
  backs: [] as Int32Array[],
  entries: [] as number[],
}

function scratchOf(states: number, groups: number): typeof scratch {
  if (scratch.current.length < states) {
    scratch.current = new Float64Array(states)
    scratch.next = new Float64Array(states)
    scratch.backs = []
  }
  while (scratch.backs.length < groups) scratch.backs.push(new Int32Array(scratch.current.length))
  return scratch
}

/** Dynamic programme over a crew's groups: state = duty type × party difference. */
export function combine(
  tables: GroupTable[],
  crew: CrewInfo,
  groups: number[],
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
    const first = groups[i] === crew.dutyFirst
    const second = groups[i] === crew.dutySecond
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
