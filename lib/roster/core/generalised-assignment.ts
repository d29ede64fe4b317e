/** The generalised assignment problem: every job to one agent, each agent within its capacity, least or greatest total.
 *
 *  Method: Lagrangian prices on 'every job once' leave one knapsack an agent (exact by dynamic programming over the
 *  capacity); the best prices bound the value and mark pairs whose reduced cost alone exceeds the gap; a greedy repair
 *  with shifts and swaps gives a first value; what is left of the model is closed by the branch-and-cut solver handed
 *  in. Whole weights and capacities. O(steps × agents × jobs × capacity).
 *  References: Ross & Soland 1975; Fisher, Jaikumar & Van Wassenhove 1986; Martello & Toth 1990, ch. 7. */
import { MipModel, type MipSolver } from './mip-model'

export interface GeneralisedAssignment {
  sense: 'min' | 'max'
  /** [agent][job]. */
  values: number[][]
  weights: number[][]
  capacities: number[]
}

export interface GeneralisedResult {
  status: 'optimal' | 'within-gap' | 'infeasible' | 'unknown'
  value: number | null
  /** Proven: no assignment is below (min) or above (max) it. */
  bound: number | null
  /** Agent of each job. */
  assignment: number[] | null
}

/** @throws RangeError for ragged tables or weights that aren't whole and ≥ 0. */
export function solveGeneralisedAssignment(
  problem: GeneralisedAssignment,
  mip: MipSolver,
  limits: { nodes: number } = { nodes: 200_000 },
): GeneralisedResult {
  const { values, weights, capacities, sense } = problem
  const agents = capacities.length
  const jobs = values[0]?.length ?? 0
  if (values.length !== agents || weights.length !== agents)
    throw new RangeError('values, weights and capacities must have one entry an agent')
  for (let i = 0; i < agents; i++) {
    if (values[i]!.length !== jobs || weights[i]!.length !== jobs)
      throw new RangeError(`agent ${i}: one value and one weight for each of ${jobs} jobs are needed`)
    if (weights[i]!.some((w) => !Number.isInteger(w) || w < 0))
      throw new RangeError(`agent ${i}: weights must be whole numbers from 0`)
  }
  if (jobs === 0) return { status: 'optimal', value: 0, bound: 0, assignment: [] }
  const sign = sense === 'min' ? 1 : -1
  const cost = values.map((row) => row.map((v) => sign * v))
  const integral = values.every((row) => row.every(Number.isInteger))
  const first = greedy(cost, weights, capacities)
  let upper = first ? total(cost, first) : Number.POSITIVE_INFINITY
  const dual = climb(cost, weights, capacities, upper)
  const round = (x: number) => (integral ? Math.ceil(x - 1e-6) : x)
  let best = first
  if (best && upper <= round(dual.value))
    return { status: 'optimal', value: sign * upper, bound: sign * upper, assignment: best }

  // Pairs that can't be in a better solution are left out.
  const model = new MipModel('min')
  const column: number[][] = cost.map((row) => row.map(() => -1))
  for (let i = 0; i < agents; i++)
    for (let j = 0; j < jobs; j++) {
      if (weights[i]![j]! > capacities[i]!) continue
      if (upper < Number.POSITIVE_INFINITY && dual.forced[i]![j]! > upper - (integral ? 1 : 1e-9) + 1e-6)
        continue
      column[i]![j] = model.column(cost[i]![j]!, 0, 1, true)
    }
  for (let j = 0; j < jobs; j++) {
    const list = column.map((row) => row[j]!).filter((c) => c >= 0)
    if (list.length === 0) {
      // No pair left: with a first solution it can't be bettered; without one a job fits nowhere.
      if (best) return { status: 'optimal', value: sign * upper, bound: sign * upper, assignment: best }
      return { status: 'infeasible', value: null, bound: null, assignment: null }
    }
    model.row(
      list,
      list.map(() => 1),
      1,
      1,
    )
  }
  for (let i = 0; i < agents; i++) {
    const list: number[] = []
    const factors: number[] = []
    column[i]!.forEach((c, j) => {
      if (c >= 0 && weights[i]![j]! > 0) {
        list.push(c)
        factors.push(weights[i]![j]!)
      }
    })
    model.row(list, factors, Number.NEGATIVE_INFINITY, capacities[i]!)
  }
  const answer = mip(model, { nodes: limits.nodes })
  if (answer.values) {
    const found = new Array<number>(jobs).fill(-1)
    column.forEach((row, i) => {
      row.forEach((c, j) => {
        if (c >= 0 && answer.values![c]! > 0.5) found[j] = i
      })
    })
    if (fits(found, weights, capacities) && total(cost, found) < upper) {
      best = found
      upper = total(cost, found)
    }
  }
  let lower = round(dual.value)
  if (answer.status === 'optimal' || (answer.status === 'infeasible' && best)) lower = upper
  else if (answer.status === 'infeasible')
    return { status: 'infeasible', value: null, bound: null, assignment: null }
  else if (Number.isFinite(answer.bound)) lower = Math.max(lower, Math.min(upper, round(answer.bound)))
  if (!best) return { status: 'unknown', value: null, bound: sign * lower, assignment: null }
  return {
    status: lower >= upper ? 'optimal' : 'within-gap',
    value: sign * upper,
    bound: sign * Math.min(lower, upper),
    assignment: best,
  }
}

const total = (cost: number[][], assignment: number[]) =>
  assignment.reduce((sum, i, j) => sum + cost[i]![j]!, 0)

function fits(assignment: number[], weights: number[][], capacities: number[]): boolean {
  const load = capacities.map(() => 0)
  for (const [j, i] of assignment.entries()) {
    if (i < 0) return false
    load[i] = load[i]! + weights[i]![j]!
  }
  return load.every((l, i) => l <= capacities[i]!)
}

/** Jobs with the most to lose first, each to its cheapest agent with room; then shifts and swaps while they help. */
function greedy(cost: number[][], weights: number[][], capacities: number[]): number[] | null {
  const agents = capacities.length
  const jobs = cost[0]!.length
  for (const measure of [cost, weights]) {
    const room = [...capacities]
    const assignment = new Array<number>(jobs).fill(-1)
    const left = new Set(Array.from({ length: jobs }, (_, j) => j))
    let stuck = false
    while (left.size > 0 && !stuck) {
      let pick = -1
      let to = -1
      let most = Number.NEGATIVE_INFINITY
      for (const j of left) {
        let one = Number.POSITIVE_INFINITY
        let two = Number.POSITIVE_INFINITY
        let at = -1
        for (let i = 0; i < agents; i++) {
          if (weights[i]![j]! > room[i]!) continue
          const m = measure[i]![j]!
          if (m < one) {
            two = one
            one = m
            at = i
          } else if (m < two) two = m
        }
        if (at < 0) {
          stuck = true
          break
        }
        const regret = two - one
        if (regret > most) {
          most = regret
          pick = j
          to = at
        }
      }
      if (stuck) break
      assignment[pick] = to
      room[to] = room[to]! - weights[to]![pick]!
      left.delete(pick)
    }
    if (stuck) continue
    for (let again = true; again; ) {
      again = false
      for (let j = 0; j < jobs; j++)
        for (let i = 0; i < agents; i++) {
          const from = assignment[j]!
          if (i === from || weights[i]![j]! > room[i]! || cost[i]![j]! >= cost[from]![j]!) continue
          room[from] = room[from]! + weights[from]![j]!
          room[i] = room[i]! - weights[i]![j]!
          assignment[j] = i
          again = true
        }
      for (let j = 0; j < jobs; j++)
        for (let k = j + 1; k < jobs; k++) {
          const a = assignment[j]!
          const b = assignment[k]!
          if (a === b) continue
          if (cost[a]![k]! + cost[b]![j]! >= cost[a]![j]! + cost[b]![k]!) continue
          const roomA = room[a]! + weights[a]![j]! - weights[a]![k]!
          const roomB = room[b]! + weights[b]![k]! - weights[b]![j]!
          if (roomA < 0 || roomB < 0) continue
          room[a] = roomA
          room[b] = roomB
          assignment[j] = b
          assignment[k] = a
          again = true
        }
    }
    return assignment
  }
  return null
}

/** Subgradient prices of 'every job once'. `forced[i][j]`: the bound when job j must go to agent i. */
function climb(cost: number[][], weights: number[][], capacities: number[], upper: number) {
  const agents = capacities.length
  const jobs = cost[0]!.length
  let u = Array.from({ length: jobs }, (_, j) => Math.min(...cost.map((row) => row[j]!)))
  let best = { value: Number.NEGATIVE_INFINITY, u: [...u] }
  let agility = 1
  let stale = 0
  const target = Number.isFinite(upper) ? upper : u.reduce((a, b) => a + Math.abs(b), 0) * 1.1 + 1
  for (let step = 0; step < 300; step++) {
    const count = new Array<number>(jobs).fill(0)
    let value = u.reduce((a, b) => a + b, 0)
    for (let i = 0; i < agents; i++) {
      const { gain, taken } = knapsack(
        u.map((x, j) => x - cost[i]![j]!),
        weights[i]!,
        capacities[i]!,
      )
      value -= gain
      for (const j of taken) count[j] = count[j]! + 1
    }
    if (value > best.value + 1e-9) {
      best = { value, u: [...u] }
      stale = 0
    } else if (++stale > 15) {
      agility /= 2
      stale = 0
      u = [...best.u]
    }
    const norm = count.reduce((a, c) => a + (1 - c) ** 2, 0)
    if (norm === 0 || agility < 1e-3) break
    const length = (agility * Math.max(0.01, target - value)) / norm
    u = u.map((x, j) => x + length * (1 - count[j]!))
  }
  // Reduced-cost marks from the linear relaxation of each knapsack would be weaker: force each pair exactly.
  const forced = cost.map((row) => row.map(() => Number.NEGATIVE_INFINITY))
  for (let i = 0; i < agents; i++) {
    const gains = best.u.map((x, j) => x - cost[i]![j]!)
    const all = knapsack(gains, weights[i]!, capacities[i]!).gain
    for (let j = 0; j < jobs; j++) {
      if (weights[i]![j]! > capacities[i]!) continue
      const others = gains.map((g, k) => (k === j ? 0 : g))
      const rest = knapsack(others, weights[i]!, capacities[i]! - weights[i]![j]!).gain
      forced[i]![j] = best.value + all - (gains[j]! + rest)
    }
  }
  return { value: best.value, forced }
}

/** 0–1 knapsack by dynamic programming over the capacity; only positive gains are taken. */
function knapsack(gains: number[], weights: number[], capacity: number): { gain: number; taken: number[] } {
  const items: number[] = []
  let free = 0
  const taken: number[] = []
  gains.forEach((g, j) => {
    if (g <= 0) return
    if (weights[j] === 0) {
      free += g
      taken.push(j)
    } else if (weights[j]! <= capacity) items.push(j)
  })
  const width = Math.floor(capacity) + 1
  const best = new Float64Array(width)
  const keep = new Uint8Array(items.length * width)
  items.forEach((j, n) => {
    const w = weights[j]!
    const g = gains[j]!
    for (let c = width - 1; c >= w; c--)
      if (best[c - w]! + g > best[c]!) {
        best[c] = best[c - w]! + g
        keep[n * width + c] = 1
      }
  })
  let c = width - 1
  for (let n = items.length - 1; n >= 0; n--)
    if (keep[n * width + c]) {
      taken.push(items[n]!)
      c -= weights[items[n]!]!
    }
  return { gain: free + best[width - 1]!, taken }
}
