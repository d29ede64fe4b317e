/** Search below a cutoff, with Lagrangian bounds at each node: prices are bettered a little, pairs that no better solution
 *  can hold are ruled out, jobs with one agent left are decided, and the job whose choices leave least to look at is tried
 *  with each of its agents.
 *
 *  The whole search goes depth first, the most promising agent first. A dive looks for a solution alone: it decides several
 *  jobs at a time, and turns first to nodes that departed least from the most promising way (limited discrepancy).
 *  References: Posta, Ferland & Michelon 2012, Computational Optimization and Applications 52:629; Harvey & Ginsberg 1995. */
import { climbPrices, type GapNode, type GapTables, type Pricing } from './gap-prices'
import { MinHeap } from './heap'

export interface GapSearch {
  /** The best solution below the cutoff, if any was met. */
  found: Int32Array | null
  /** Was everything below the cutoff looked at? */
  complete: boolean
}

/** A node still to be made: a job of its parent given to an agent. */
interface Branch {
  parent: GapNode
  u: Float64Array
  job: number
  agent: number
  /** Its place among the agents by promise. */
  rank: number
  /** Departures from the most promising way, and decisions, from the root. */
  departures: number
  depth: number
  /** Open jobs decided along with it. */
  along: [job: number, agent: number][]
}

const ROOT_STEPS = 60
const NODE_STEPS = 16
const DIVE_STEPS = 8
const AGAIN_STEPS = 8

export class GapSearcher {
  private readonly into: Float64Array
  private readonly without: Float64Array
  /** Of each open pair: the bound where it is forced; and that of the node (see `fix`). */
  private readonly bound: Float64Array
  private value = 0

  constructor(
    readonly tables: GapTables,
    readonly pricing: Pricing,
  ) {
    const pairs = tables.agents * tables.jobs
    this.into = new Float64Array(pairs)
    this.without = new Float64Array(pairs)
    this.bound = new Float64Array(pairs)
  }

  /** Looks for solutions that cost less than `cutoff`, until the pricing's work reaches `workLimit`; `u` are bettered for
   *  the root. With `oneIn` it dives: of so many open jobs one is decided at a time, and the first solution ends it. */
  search(root: GapNode, u: Float64Array, cutoff: number, workLimit: number, { oneIn = 0 } = {}): GapSearch {
    const dives = oneIn > 0
    const open = new Branches(this.tables.agents)
    let found: Int32Array | null = null
    let node: GapNode | null = cloneNode(root)
    let from: Branch | null = null
    let below = cutoff
    for (let prices = u; ; prices = from.u.slice()) {
      if (this.pricing.work > workLimit) return { found, complete: false }
      const steps = from === null ? ROOT_STEPS : dives ? DIVE_STEPS : NODE_STEPS
      const reduced: Reduced = node ? this.reduce(node, prices, below, steps) : 'closed'
      if (reduced === 'open')
        for (const branch of this.branches(node!, prices, below, from, oneIn)) open.push(branch, dives)
      else if (reduced !== 'closed') {
        found = reduced
        if (dives) break
        below = this.costOf(found)
      }
      from = open.pop()
      if (from === null) break
      node = this.nodeOf(from)
    }
    return { found, complete: !dives }
  }

  /** The ways to decide the job to branch on, the most promising first. */
  private branches(
    parent: GapNode,
    u: Float64Array,
    cutoff: number,
    from: Branch | null,
    oneIn: number,
  ): Branch[] {
    const job = this.branchJob(parent, cutoff)
    return this.agentsOf(parent, job).map((agent, rank) => ({
      parent,
      u,
      job,
      agent,
      rank,
      departures: (from?.departures ?? 0) + rank,
      depth: (from?.depth ?? 0) + 1,
      along: oneIn > 0 && rank === 0 ? this.surest(parent, oneIn) : [],
    }))
  }

  /** Null where the agent has no room left for the job. */
  private nodeOf({ parent, job, agent, along }: Branch): GapNode | null {
    const node = cloneNode(parent)
    if (!this.decide(node, agent, job)) return null
    for (const [j, i] of along)
      if (node.agentOf[j]! < 0 && node.open[i * this.tables.jobs + j]) this.decide(node, i, j)
    return node
  }

  costOf(agentOf: Int32Array): number {
    return agentOf.reduce((sum, i, j) => sum + this.tables.cost[i * this.tables.jobs + j]!, 0)
  }

  /** One in so many open jobs, those that have most to lose, with their best agents. */
  private surest(node: GapNode, oneIn: number): [job: number, agent: number][] {
    const open: { job: number; agent: number; regret: number }[] = []
    for (let job = 0; job < this.tables.jobs; job++) {
      if (node.agentOf[job]! >= 0) continue
      const { agent, first, second } = this.bestTwo(node, job)
      if (agent >= 0) open.push({ job, agent, regret: second - first })
    }
    open.sort((a, b) => b.regret - a.regret || a.job - b.job)
    return open.slice(0, Math.floor(open.length / oneIn)).map(({ job, agent }) => [job, agent])
  }

  /** The open agent of least bound, its bound and that of the next. */
  private bestTwo(node: GapNode, j: number): { agent: number; first: number; second: number } {
    const { agents, jobs } = this.tables
    let agent = -1
    let [first, second] = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY]
    for (let i = 0, a = j; i < agents; i++, a += jobs) {
      if (!node.open[a]) continue
      const b = this.bound[a]!
      if (b < first) {
        second = first
        first = b
        agent = i
      } else if (b < second) second = b
    }
    return { agent, first, second }
  }

  /** Does a bound rule out everything below the cutoff? */
  private beats(bound: number, cutoff: number): boolean {
    return this.tables.whole
      ? Math.ceil(bound - this.slack(bound)) >= cutoff
      : bound >= cutoff - this.slack(cutoff)
  }

  /** What rounding may do to a sum of this size. */
  slack(value: number): number {
    return Math.max(1e-7, 1e-11 * Math.abs(value))
  }

  /** Bounds a node and makes it smaller: closed, a solution of it that is best, or open still. */
  private reduce(node: GapNode, u: Float64Array, cutoff: number, steps: number): Reduced {
    for (let again = false; ; again = true) {
      const left = this.settle(node)
      if (left < 0) return 'closed'
      if (left === 0) return node.decided < cutoff ? node.agentOf.slice() : 'closed'
      const { value, exact } = climbPrices(this.pricing, node, u, {
        steps: again ? AGAIN_STEPS : steps,
        target: cutoff,
        agility: !again && steps === ROOT_STEPS ? 1 : 0.4,
      })
      if (this.beats(value, cutoff)) return 'closed'
      const solution = exact ? this.takenOnce(node) : null
      if (solution) return solution
      const changed = this.fix(node, u, cutoff)
      if (changed === 0 || steps === DIVE_STEPS || (again && changed < 10)) return 'open'
    }
  }

  /** For each job the agents whose bound is nearest to the best, at least two where there are, by the prices. */
  likelyAgents(node: GapNode, u: Float64Array, factor: number): Int32Array[] {
    this.fix(node, u, Number.POSITIVE_INFINITY)
    const { jobs } = this.tables
    const within = factor * this.spread(node)
    return Array.from({ length: jobs }, (_, j) => {
      if (node.agentOf[j]! >= 0) return Int32Array.of(node.agentOf[j]!)
      const list = this.agentsOf(node, j)
      const first = this.bound[list[0]! * jobs + j]!
      return Int32Array.from(list.filter((i, r) => r < 2 || this.bound[i * jobs + j]! <= first + within))
    })
  }

  /** By how much the bound of a job's second agent lies above that of its first: the mean over the jobs. */
  spread(node: GapNode): number {
    let sum = 0
    for (let j = 0; j < this.tables.jobs; j++) {
      if (node.agentOf[j]! >= 0) continue
      const { first, second } = this.bestTwo(node, j)
      if (second < Number.POSITIVE_INFINITY) sum += second - first
    }
    return Math.max(sum / this.tables.jobs, 1e-3)
  }

  /** Decides jobs with one agent left; how many jobs stay open, −1 where a job has none. */
  settle(node: GapNode): number {
    const { agents, jobs } = this.tables
    let left = 0
    for (let j = 0; j < jobs; j++) {
      if (node.agentOf[j]! >= 0) continue
      let only = -1
      let choices = 0
      for (let i = 0; i < agents; i++)
        if (node.open[i * jobs + j]) {
          only = i
          choices++
        }
      if (choices === 0) return -1
      if (choices > 1) {
        left++
        continue
      }
      if (!this.decide(node, only, j)) return -1
      // Less room may leave earlier jobs without an agent.
      left = 0
      j = -1
    }
    return left
  }

  /** Gives a job to an agent and rules out what no longer fits; false where it doesn't fit itself. */
  private decide(node: GapNode, i: number, j: number): boolean {
    const { jobs, cost, weight } = this.tables
    const a = i * jobs + j
    if (weight[a]! > node.room[i]!) return false
    node.agentOf[j] = i
    node.room[i]! -= weight[a]!
    node.decided += cost[a]!
    for (let k = 0, b = i * jobs; k < jobs; k++, b++) if (weight[b]! > node.room[i]!) node.open[b] = 0
    return true
  }

  /** The solution that the pricing's tables show, where it keeps every room. */
  private takenOnce(node: GapNode): Int32Array | null {
    const { agents, jobs, weight } = this.tables
    const solution = node.agentOf.slice()
    const room = node.room.slice()
    for (let i = 0; i < agents; i++)
      for (let j = 0, a = i * jobs; j < jobs; j++, a++)
        if (this.pricing.taken[a] && node.agentOf[j]! < 0) {
          solution[j] = i
          room[i]! -= weight[a]!
        }
    return room.every((r) => r >= 0) && solution.every((i) => i >= 0) ? solution : null
  }

  /** Rules pairs out by the bound that forcing them gives; how many. `bound` then holds the bound of each pair still open,
   *  `value` that of the node. */
  private fix(node: GapNode, u: Float64Array, cutoff: number): number {
    const { agents, jobs } = this.tables
    const { pricing, into, without, bound } = this
    this.value = pricing.value(node, u)
    for (let i = 0; i < agents; i++) pricing.losses(i, node, u, into, without)
    let changed = 0
    for (let j = 0; j < jobs; j++) {
      if (node.agentOf[j]! >= 0) continue
      // Whoever takes the job now loses it to the agent that must take it.
      let lost = 0
      for (let a = j; a < agents * jobs; a += jobs) if (node.open[a]) lost += without[a]!
      for (let a = j; a < agents * jobs; a += jobs) {
        if (!node.open[a]) continue
        bound[a] = this.value + into[a]! + lost - without[a]!
        if (!this.beats(bound[a]!, cutoff)) continue
        node.open[a] = 0
        changed++
      }
    }
    return changed
  }

  private agentsOf(node: GapNode, j: number): number[] {
    const { agents, jobs } = this.tables
    const list: number[] = []
    for (let i = 0; i < agents; i++) if (node.open[i * jobs + j]) list.push(i)
    return list.sort((a, b) => this.bound[a * jobs + j]! - this.bound[b * jobs + j]!)
  }

  /** The job whose choices leave least to look at, if a subtree shrinks to a quarter over the way to the cutoff. */
  private branchJob(node: GapNode, cutoff: number): number {
    const { agents, jobs } = this.tables
    const rate = 2 / Math.max(1e-9, cutoff - this.value)
    let pick = -1
    let least = Number.POSITIVE_INFINITY
    for (let j = 0; j < jobs; j++) {
      if (node.agentOf[j]! >= 0) continue
      let sum = 0
      for (let a = j; a < agents * jobs; a += jobs)
        if (node.open[a]) sum += 2 ** ((this.value - this.bound[a]!) * rate)
      if (sum < least) {
        least = sum
        pick = j
      }
    }
    return pick
  }
}

type Reduced = 'closed' | 'open' | Int32Array

/** Branches in the order in which they are to be looked at. */
class Branches {
  private readonly kept: (Branch | null)[] = []
  private readonly vacant: number[] = []
  private readonly heap = new MinHeap()

  constructor(private readonly agents: number) {}

  push(branch: Branch, fewestDepartures: boolean): void {
    const at = this.vacant.pop() ?? this.kept.length
    this.kept[at] = branch
    const deepest = branch.rank - branch.depth * this.agents
    this.heap.push(fewestDepartures ? branch.departures * 1e9 + deepest : deepest, at)
  }

  pop(): Branch | null {
    if (this.heap.size === 0) return null
    const at = this.heap.pop()
    const branch = this.kept[at]!
    this.kept[at] = null
    this.vacant.push(at)
    return branch
  }
}

const cloneNode = (node: GapNode): GapNode => ({
  open: node.open.slice(),
  agentOf: node.agentOf.slice(),
  room: node.room.slice(),
  decided: node.decided,
})

/** Everything open that fits by itself. */
export function rootNode({ agents, jobs, weight, capacity }: GapTables): GapNode {
  const open = new Uint8Array(agents * jobs)
  for (let i = 0; i < agents; i++)
    for (let j = 0, a = i * jobs; j < jobs; j++, a++) open[a] = Number(weight[a]! <= capacity[i]!)
  return { open, agentOf: new Int32Array(jobs).fill(-1), room: capacity.slice(), decided: 0 }
}
