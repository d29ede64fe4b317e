/** The graph of a lesson on one equipment profile: a hub is a (projected) state in which a step begins, an edge is one
 *  way of getting through that step. Everything that the checker and the path generator ask is read off this graph. */
import type { EquipmentProfile, OperateStep, OrderStep, PlayEvent, Scenario, SpotStep } from '../schema'
import { markOrder, markSpot, SEVERITY } from './points'
import { relevanceOf } from './relevance'
import { firstOrder } from './shuffle'
import { machineOf, setupOf } from './stations'
import { type Mark, type PlayState, startScenario, stepOf, transition } from './transition'

export interface Edge {
  /** What is done, from the step's beginning to its end. */
  events: PlayEvent[]
  to: string
  /** Points that the step earns, 0 to 1 (the weakest mark); null where nothing is judged. */
  points: number | null
  /** Highest severity of a mark, 0 sound to 3 critical; 0 where nothing is judged. */
  severity: number
  /** What ended the step: option, watched action or outcome, 'help', 'spot', 'order'. */
  act: string
}

export interface Hub {
  key: string
  state: PlayState
  step: string
  /** Marks of this visit count (first visit). */
  counts: boolean
  end: boolean
  edges: Edge[]
}

export interface LessonGraph {
  start: string
  hubs: Map<string, Hub>
  /** False where a limit cut the search short: what was not found may still be there. */
  complete: boolean
  /** Operate steps whose search was cut short. */
  wide: string[]
}

export interface ExploreLimits {
  hubs: number
  /** States within one visit of an operate step. */
  statesPerStep: number
  /** Transitions tried in all. */
  transitions: number
}

export const DEFAULT_LIMITS: ExploreLimits = { hubs: 2_000, statesPerStep: 4_000, transitions: 400_000 }

/** Explores a lesson breadth-first. @throws RangeError where a `next` names no step. */
export function exploreLesson(
  scenario: Scenario,
  profile: EquipmentProfile,
  limits: ExploreLimits = DEFAULT_LIMITS,
): LessonGraph {
  const { project } = relevanceOf(scenario)
  const budget = { transitions: limits.transitions }
  const searched: Searched = new Map()
  const hubs = new Map<string, Hub>()
  const wide = new Set<string>()
  const queue: Hub[] = []
  const hubOf = (state: PlayState): string => {
    const projected = project(state)
    const key = JSON.stringify(projected)
    if (!hubs.has(key)) {
      const hub: Hub = {
        key,
        state: projected,
        step: state.step,
        counts: projected.visits[state.step] === 1,
        end: stepOf(scenario, state.step).kind === 'end',
        edges: [],
      }
      hubs.set(key, hub)
      queue.push(hub)
    }
    return key
  }
  const start = hubOf(startScenario(scenario, profile))
  let complete = true
  for (let at = 0; at < queue.length; at++) {
    const hub = queue[at]!
    if (hub.end) continue
    if (hubs.size > limits.hubs || budget.transitions <= 0) {
      complete = false
      break
    }
    const through = waysThrough(scenario, profile, hub.state, project, limits, budget, searched)
    if (through.cut) {
      complete = false
      wide.add(hub.step)
    }
    const seen = new Set<string>()
    for (const way of through.ways) {
      const to = hubOf(way.state)
      const { points, severity } = sumUp(way.marks)
      const act = way.marks.at(-1)?.act ?? (way.events.at(-1) as { option?: string }).option ?? ''
      const key = `${to}|${points}|${severity}|${act}`
      if (seen.has(key)) continue
      seen.add(key)
      hub.edges.push({ events: way.events, to, points, severity, act })
    }
  }
  return { start, hubs, complete, wide: [...wide] }
}

interface Way {
  events: PlayEvent[]
  state: PlayState
  marks: Mark[]
  /** State before the last event; operate steps only. */
  before?: PlayState
}

/** Operate steps already searched: what can be done there depends on stations and flags, not on the way taken to it,
 *  which changes only what counts. */
type Searched = Map<string, { ways: Way[]; cut: boolean }>

function operateWaysOnce(
  scenario: Scenario,
  profile: EquipmentProfile,
  from: PlayState,
  project: (state: PlayState) => PlayState,
  limits: ExploreLimits,
  budget: { transitions: number },
  searched: Searched,
): { ways: Way[]; cut: boolean } {
  const key = JSON.stringify([from.step, from.stations, from.flags])
  const held = searched.get(key)
  if (!held) {
    const found = operateWays(scenario, profile, from, project, limits, budget)
    searched.set(key, found)
    return found
  }
  budget.transitions -= held.ways.length
  const ways = held.ways.map((way) => {
    const { state } = transition(
      scenario,
      profile,
      { ...way.before!, visits: from.visits },
      way.events.at(-1)!,
    )
    return { ...way, state }
  })
  return { ways, cut: held.cut }
}

const sumUp = (marks: readonly Mark[]): { points: number | null; severity: number } => ({
  points: marks.length === 0 ? null : Math.min(...marks.map((m) => m.points)),
  severity: Math.max(0, ...marks.map((m) => SEVERITY[m.judgement])),
})

function waysThrough(
  scenario: Scenario,
  profile: EquipmentProfile,
  state: PlayState,
  project: (state: PlayState) => PlayState,
  limits: ExploreLimits,
  budget: { transitions: number },
  searched: Searched,
): { ways: Way[]; cut: boolean } {
  const step = stepOf(scenario, state.step)
  const play = (events: PlayEvent[]): Way => {
    let now = state
    const marks: Mark[] = []
    for (const event of events) {
      const next = transition(scenario, profile, now, event)
      now = next.state
      marks.push(...next.marks)
    }
    budget.transitions -= events.length
    return { events, state: now, marks }
  }
  switch (step.kind) {
    case 'decide':
      return { ways: step.options.map((o) => play([{ type: 'choose', option: o.id }])), cut: false }
    case 'spot':
      return { ways: spotAnswers(step).map(play), cut: false }
    case 'order':
      return { ways: orderAnswers(scenario, step).map(play), cut: false }
    case 'operate':
      return operateWaysOnce(scenario, profile, state, project, limits, budget, searched)
    case 'end':
      return { ways: [], cut: false }
  }
}

/** One answer for each fraction and each 'missed something critical' that a scene can earn. */
function spotAnswers(step: SpotStep): PlayEvent[][] {
  const found = new Map<string, string[]>()
  for (let mask = 0; mask < 2 ** step.things.length; mask++) {
    const marked = step.things.filter((_, i) => mask & (1 << i)).map((t) => t.id)
    const { fraction, judgement } = markSpot(step, marked)
    const key = `${fraction}|${judgement}`
    const held = found.get(key)
    if (!held || marked.length < held.length) found.set(key, marked)
  }
  return [...found.values()].map((marked) => [
    ...marked.map((thing): PlayEvent => ({ type: 'mark', thing })),
    { type: 'hand-in' },
  ])
}

const orderings = new WeakMap<OrderStep, string[][]>()

/** One answer for each fraction and each 'swapped a critical pair' that an order can earn. O(n! n²) once per step. */
function orderAnswers(scenario: Scenario, step: OrderStep): PlayEvent[][] {
  let answers = orderings.get(step)
  if (!answers) {
    const found = new Map<string, string[]>()
    for (const order of permutations(step.items.map((i) => i.id))) {
      const { fraction, judgement } = markOrder(step, order)
      const key = `${fraction}|${judgement}`
      if (!found.has(key)) found.set(key, [...order])
    }
    answers = [...found.values()]
    orderings.set(step, answers)
  }
  return answers.map((order) => movesTo(firstOrder(scenario, step), order))
}

function* permutations(items: string[], from = 0): Generator<string[]> {
  if (from >= items.length - 1) {
    yield items
    return
  }
  for (let i = from; i < items.length; i++) {
    const swap = () => {
      const kept = items[from]!
      items[from] = items[i]!
      items[i] = kept
    }
    swap()
    yield* permutations(items, from + 1)
    swap()
  }
}

/** The moves that bring one order into another, then hand-in. */
export function movesTo(from: readonly string[], order: readonly string[]): PlayEvent[] {
  const now = [...from]
  const events: PlayEvent[] = []
  order.forEach((item, to) => {
    const at = now.indexOf(item)
    if (at === to) return
    now.splice(at, 1)
    now.splice(to, 0, item)
    events.push({ type: 'move', item, to })
  })
  return [...events, { type: 'hand-in' }]
}

/** The events worth trying in a state of an operate step, without asking for help. */
export function operateMoves(scenario: Scenario, profile: EquipmentProfile, state: PlayState): PlayEvent[] {
  const step = stepOf(scenario, state.step) as OperateStep
  const setup = setupOf(scenario, step.station)
  const station = machineOf(setup).moves(setup, profile, state.stations[step.station]!)
  return [
    ...step.acts
      .filter((a) => !state.acts.includes(a.id))
      .map((a): PlayEvent => ({ type: 'act', act: a.id })),
    ...station
      .filter((e) => !step.controls || step.controls.includes(e.type))
      .map((event): PlayEvent => ({ type: 'station', event })),
  ]
}

/** Searches a station: states with milder marks first, then fewer events, so that the clean way is found first and is
 *  the shortest one. */
function operateWays(
  scenario: Scenario,
  profile: EquipmentProfile,
  from: PlayState,
  project: (state: PlayState) => PlayState,
  limits: ExploreLimits,
  budget: { transitions: number },
): { ways: Way[]; cut: boolean } {
  const ways: Way[] = []
  const found = new Set<string>()
  // Events are kept as a chain back to the start of the step.
  interface Node {
    state: PlayState
    marks: Mark[]
    event: PlayEvent | null
    back: Node | null
  }
  const eventsTo = (node: Node | null): PlayEvent[] => {
    const events: PlayEvent[] = []
    for (let n = node; n?.event; n = n.back) events.push(n.event)
    return events.reverse()
  }
  const layers: Node[][] = [[{ state: from, marks: [], event: null, back: null }], [], [], []]
  const seen = new Set<string>([JSON.stringify(from)])
  const tryEvent = (node: Node, event: PlayEvent) => {
    budget.transitions--
    const next = transition(scenario, profile, node.state, event)
    if (next.state === node.state) return
    const marks = [...node.marks, ...next.marks]
    const { severity, points } = sumUp(marks)
    if (next.left) {
      const key = `${JSON.stringify(project(next.state))}|${points}|${severity}|${next.marks.at(-1)?.act}`
      if (found.has(key)) return
      found.add(key)
      ways.push({ events: [...eventsTo(node), event], state: next.state, marks, before: node.state })
      return
    }
    // The judged actions are part of the state, so equal states have equal marks.
    const key = JSON.stringify(next.state)
    if (seen.has(key)) return
    seen.add(key)
    layers[severity]!.push({ state: next.state, marks, event, back: node })
  }
  for (const layer of layers)
    for (const node of layer) {
      // Where a limit cuts the search, asking for help is still tried once in each layer.
      const room = seen.size <= limits.statesPerStep && budget.transitions > 0
      if (room) for (const event of operateMoves(scenario, profile, node.state)) tryEvent(node, event)
      tryEvent(node, { type: 'ask-help' })
      if (!room) return { ways, cut: true }
    }
  return { ways, cut: false }
}
