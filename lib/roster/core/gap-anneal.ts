/** Feasible solutions of the generalised assignment problem by annealing: a job moves to another agent, or two jobs change
 *  agents. Loads may exceed capacities at a price an agent, which rises while that goes on and falls while it doesn't
 *  (strategic oscillation: Yagiura, Ibaraki & Glover 2004). Only pairs that are `likely` are tried. O(1) a move. */
import type { Random } from '@/lib/kernel/random'
import type { GapTables } from './gap-prices'

export interface Annealing {
  /** For each job the agents that may be tried. */
  likely: Int32Array[]
  moves: number
  /** Cost at the first move and the last. */
  hot: number
  cold: number
  /** Cost of a unit of weight beyond a capacity, at first. */
  penalty: number
  random: Random
}

/** The best solution met that keeps every capacity, from a start that needn't; null where none was met. */
export function anneal(tables: GapTables, start: Int32Array, o: Annealing): Int32Array | null {
  const { agents, jobs, cost, weight, capacity } = tables
  const { random } = o
  const agentOf = start.slice()
  const load = new Int32Array(agents)
  let excess = 0
  let value = 0
  for (let j = 0; j < jobs; j++) {
    const a = agentOf[j]! * jobs + j
    load[agentOf[j]!]! += weight[a]!
    value += cost[a]!
  }
  const members: number[][] = Array.from({ length: agents }, () => [])
  const placeOf = new Int32Array(jobs)
  agentOf.forEach((i, j) => {
    placeOf[j] = members[i]!.push(j) - 1
  })
  const isLikely = new Uint8Array(agents * jobs)
  o.likely.forEach((list, j) => {
    for (const i of list) isLikely[i * jobs + j] = 1
  })
  const put = (j: number, i: number) => {
    const old = members[agentOf[j]!]!
    const last = old.pop()!
    if (last !== j) {
      old[placeOf[j]!] = last
      placeOf[last] = placeOf[j]!
    }
    placeOf[j] = members[i]!.push(j) - 1
    agentOf[j] = i
  }
  const over = (i: number, l: number) => Math.max(0, l - capacity[i]!)
  for (let i = 0; i < agents; i++) excess += over(i, load[i]!)
  let best: Int32Array | null = excess === 0 ? agentOf.slice() : null
  let least = excess === 0 ? value : Number.POSITIVE_INFINITY
  let penalty = o.penalty
  let temperature = o.hot
  const cooling = (o.cold / o.hot) ** (1 / Math.max(1, o.moves))
  const window = 20 * jobs
  let feasible = 0
  const accept = (delta: number) => delta <= 0 || random.next() < Math.exp(-delta / temperature)
  for (let move = 1; move <= o.moves; move++) {
    temperature *= cooling
    const j = random.below(jobs)
    const from = agentOf[j]!
    const choices = o.likely[j]!
    const to = choices[random.below(choices.length)]!
    if (to === from) continue
    const there = members[to]!
    const k = there.length === 0 || random.next() < 0.2 ? -1 : there[random.below(there.length)]!
    if (k >= 0 && !isLikely[from * jobs + k]) continue
    const wj = weight[to * jobs + j]!
    const fromBefore = load[from]!
    const toBefore = load[to]!
    let fromLoad = fromBefore - weight[from * jobs + j]!
    let toLoad = toBefore + wj
    let delta = cost[to * jobs + j]! - cost[from * jobs + j]!
    if (k >= 0) {
      fromLoad += weight[from * jobs + k]!
      toLoad -= weight[to * jobs + k]!
      delta += cost[from * jobs + k]! - cost[to * jobs + k]!
    }
    const change = over(from, fromLoad) + over(to, toLoad) - over(from, fromBefore) - over(to, toBefore)
    if (accept(delta + penalty * change)) {
      put(j, to)
      if (k >= 0) put(k, from)
      load[from] = fromLoad
      load[to] = toLoad
      value += delta
      excess += change
      if (excess === 0 && value < least - 1e-9) {
        least = value
        best = agentOf.slice()
      }
    }
    if (excess === 0) feasible++
    if (move % window === 0) {
      if (feasible < window / 10) penalty *= 1.1
      else if (feasible > window / 3) penalty /= 1.1
      feasible = 0
    }
  }
  return best
}
