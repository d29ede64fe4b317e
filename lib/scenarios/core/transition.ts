/** Playing a scenario: `startScenario` and the pure `transition(scenario, profile, state, event) → { state, marks }`.
 *  An event that isn't allowed in a state changes nothing and earns nothing. States and events are plain JSON, so a
 *  log replays to the same state and marks on any machine. No clock, no randomness. */
import type {
  Competency,
  EquipmentProfile,
  Judgement,
  OperateStep,
  OrderStep,
  PlayEvent,
  Scenario,
  SpotStep,
  Step,
} from '../schema'
import { type Facts, follow, holds } from './facts'
import { markOrder, markSpot, type Partial, POINTS } from './points'
import { firstOrder } from './shuffle'
import { machineOf, setupOf } from './stations'
import type { StationEvent } from './stations/machine'

export interface PlayState {
  /** The step being played. */
  step: string
  flags: Record<string, string>
  /** State of each station that has been used, by its name; kept from one operate step to the next. */
  stations: Record<string, object>
  /** Acts done in this visit of an operate step. */
  acts: string[]
  /** Watched actions already judged in this visit. */
  fired: string[]
  /** Things marked in this visit of a spot step. */
  marked: string[]
  /** Items of this visit of an order step, as they stand. */
  order: string[]
  /** Times that each step was entered, counted up to 2: only the first answer counts. */
  visits: Record<string, number>
}

/** One judged thing. */
export interface Mark {
  step: string
  /** Option, watched action or outcome; 'help', 'spot' or 'order' otherwise. */
  act: string
  judgement: Judgement
  /** 0 to 1. */
  points: number
  competency: Competency
  source: string | null
  /** False on a second visit: the story may lead back to a step, the first answer counts. */
  counts: boolean
}

export interface Moved {
  state: PlayState
  marks: Mark[]
  /** The event ended the step (which may lead back to itself). */
  left: boolean
}

const stepIndex = new WeakMap<readonly Step[], Map<string, Step>>()

/** The step with this id. @throws RangeError where the scenario has none. */
export function stepOf(scenario: Pick<Scenario, 'id' | 'steps'>, id: string): Step {
  let index = stepIndex.get(scenario.steps)
  if (!index) {
    index = new Map(scenario.steps.map((s) => [s.id, s]))
    stepIndex.set(scenario.steps, index)
  }
  const step = index.get(id)
  if (!step) throw new RangeError(`scenario "${scenario.id}" has no step "${id}"`)
  return step
}

export function startScenario(scenario: Scenario, profile: EquipmentProfile): PlayState {
  const flags = Object.fromEntries(Object.entries(scenario.flags).map(([name, values]) => [name, values[0]!]))
  return enter(
    scenario,
    profile,
    { step: scenario.start, flags, stations: {}, acts: [], fired: [], marked: [], order: [], visits: {} },
    scenario.start,
  )
}

export const isFinished = (scenario: Scenario, state: PlayState): boolean =>
  stepOf(scenario, state.step).kind === 'end'

/** The facts that conditions see: flags everywhere; acts and the station's in an operate step. */
export function factsOf(scenario: Scenario, profile: EquipmentProfile, state: PlayState): Facts {
  const facts: Record<string, string | number | boolean> = {}
  const step = stepOf(scenario, state.step)
  if (step.kind === 'operate') {
    const setup = setupOf(scenario, step.station)
    Object.assign(facts, machineOf(setup).facts(setup, profile, state.stations[step.station]!))
    for (const act of step.acts) facts[`act.${act.id}`] = state.acts.includes(act.id)
  }
  for (const [name, value] of Object.entries(state.flags)) facts[`flag.${name}`] = value
  return facts
}

export function transition(
  scenario: Scenario,
  profile: EquipmentProfile,
  state: PlayState,
  event: PlayEvent,
): Moved {
  const step = stepOf(scenario, state.step)
  const still: Moved = { state, marks: [], left: false }
  switch (step.kind) {
    case 'decide': {
      const option = event.type === 'choose' ? step.options.find((o) => o.id === event.option) : undefined
      if (!option) return still
      const marks = option.judgement
        ? [markFor(state, step, option.id, { ...option, judgement: option.judgement })]
        : []
      return leave(scenario, profile, withFlags(state, option.effects), option.next, marks)
    }
    case 'operate':
      return operate(scenario, profile, state, step, event)
    case 'spot': {
      if (event.type === 'mark' && step.things.some((t) => t.id === event.thing))
        return { state: { ...state, marked: toggled(state.marked, event.thing) }, marks: [], left: false }
      return event.type === 'hand-in'
        ? handIn(scenario, profile, state, step, markSpot(step, state.marked))
        : still
    }
    case 'order': {
      if (event.type === 'hand-in')
        return handIn(scenario, profile, state, step, markOrder(step, state.order))
      if (event.type !== 'move' || !state.order.includes(event.item)) return still
      const order = moved(state.order, event.item, event.to)
      return order.some((item, i) => item !== state.order[i])
        ? { state: { ...state, order }, marks: [], left: false }
        : still
    }
    case 'end':
      return still
  }
}

function operate(
  scenario: Scenario,
  profile: EquipmentProfile,
  state: PlayState,
  step: OperateStep,
  event: PlayEvent,
): Moved {
  if (event.type === 'ask-help') {
    const marks = [markFor(state, step, 'help', step.help)]
    return leave(scenario, profile, withFlags(state, step.help.effects), step.help.next, marks)
  }
  let after: PlayState
  let done: StationEvent
  if (event.type === 'act') {
    const act = step.acts.find((a) => a.id === event.act)
    if (!act || state.acts.includes(act.id)) return { state, marks: [], left: false }
    after = withFlags({ ...state, acts: [...state.acts, act.id].sort() }, act.effects)
    done = event
  } else if (event.type === 'station') {
    if (step.controls && !step.controls.includes(event.event.type)) return { state, marks: [], left: false }
    const setup = setupOf(scenario, step.station)
    const next = machineOf(setup).apply(setup, profile, state.stations[step.station]!, event.event)
    if (!next) return { state, marks: [], left: false }
    after = { ...state, stations: { ...state.stations, [step.station]: next } }
    done = event.event
  } else return { state, marks: [], left: false }

  // Facts are costly to gather and seldom asked for: the ones before the event only where some watched action asks.
  let before: Facts | undefined
  let now = factsOf(scenario, profile, after)
  const marks: Mark[] = []
  for (const watched of step.watch) {
    if (!watched.on.includes(done.type) || after.fired.includes(watched.id)) continue
    if (watched.with && !Object.entries(watched.with).every(([field, value]) => done[field] === value))
      continue
    if (watched.was) {
      before ??= factsOf(scenario, profile, state)
      if (!holds(watched.was, before)) continue
    }
    if (watched.is && !holds(watched.is, now)) continue
    marks.push(markFor(state, step, watched.id, watched))
    after = withFlags({ ...after, fired: [...after.fired, watched.id].sort() }, watched.effects)
    if (watched.next) return leave(scenario, profile, after, watched.next, marks)
    if (watched.effects) now = factsOf(scenario, profile, after)
  }
  const outcome = step.outcomes.find((o) => holds(o.when, now))
  if (!outcome) return { state: after, marks, left: false }
  marks.push(markFor(state, step, outcome.id, outcome))
  return leave(scenario, profile, withFlags(after, outcome.effects), outcome.next, marks)
}

function handIn(
  scenario: Scenario,
  profile: EquipmentProfile,
  state: PlayState,
  step: SpotStep | OrderStep,
  result: Partial,
): Moved {
  const mark = {
    ...markFor(state, step, step.kind, { judgement: result.judgement, source: step.source }),
    points: result.judgement === 'critical' ? 0 : result.fraction,
  }
  const next = step.below.find((b) => result.fraction < b.fraction)?.next ?? step.next
  return leave(scenario, profile, withFlags(state, step.effects), next, [mark])
}

function markFor(
  state: PlayState,
  step: Exclude<Step, { kind: 'end' }>,
  act: string,
  judged: { judgement: Judgement; source?: string | undefined; competency?: Competency | undefined },
): Mark {
  return {
    step: step.id,
    act,
    judgement: judged.judgement,
    points: POINTS[judged.judgement],
    competency: judged.competency ?? step.competency,
    source: judged.source ?? null,
    counts: state.visits[step.id] === 1,
  }
}

const withFlags = (state: PlayState, effects: Record<string, string> | undefined): PlayState =>
  effects ? { ...state, flags: { ...state.flags, ...effects } } : state

function leave(
  scenario: Scenario,
  profile: EquipmentProfile,
  state: PlayState,
  next: Parameters<typeof follow>[0],
  marks: Mark[],
): Moved {
  const to = follow(next, factsOf(scenario, profile, state))
  return { state: enter(scenario, profile, state, to), marks, left: true }
}

function enter(scenario: Scenario, profile: EquipmentProfile, state: PlayState, id: string): PlayState {
  const step = stepOf(scenario, id)
  const entered: PlayState = {
    ...state,
    step: id,
    acts: [],
    fired: [],
    marked: [],
    order: step.kind === 'order' ? firstOrder(scenario, step) : [],
    visits: { ...state.visits, [id]: Math.min(2, (state.visits[id] ?? 0) + 1) },
  }
  if (step.kind !== 'operate' || (entered.stations[step.station] && !step.restart)) return entered
  const setup = setupOf(scenario, step.station)
  return {
    ...entered,
    stations: { ...entered.stations, [step.station]: machineOf(setup).start(setup, profile) },
  }
}

const toggled = (list: readonly string[], id: string): string[] =>
  list.includes(id) ? list.filter((x) => x !== id) : [...list, id].sort()

function moved(list: readonly string[], item: string, to: number): string[] {
  const rest = list.filter((x) => x !== item)
  return [...rest.slice(0, to), item, ...rest.slice(to)]
}
