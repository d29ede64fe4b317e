import type { EquipmentProfile, Locale, PlayEvent, Scenario } from '../schema'
import { replay } from './replay'
import { machineOf } from './stations'
import { type PlayStep, playStep, type StrippedScenario } from './strip'
import { textsFor } from './texts'
import { type PlayState, stepOf } from './transition'

/** What the browser sees of a graded attempt after its log so far. Nothing in it tells how an answer was judged. */
export interface GradedView {
  /** Length of the log that this view stands for. */
  at: number
  state: PlayState
  step: PlayStep
  /** Texts of this step in the person's language. */
  texts: Record<string, string>
  finished: boolean
}

/** Builds the view by replaying the log. Flags, judged actions and visits stay on the server. O(events). */
export function gradedView(
  scenario: Scenario,
  profile: EquipmentProfile,
  locale: Locale,
  events: readonly PlayEvent[],
): GradedView {
  const { state, finished } = replay(scenario, profile, events)
  return {
    at: events.length,
    state: { ...state, flags: {}, fired: [], visits: {} },
    step: playStep(scenario, stepOf(scenario, state.step)),
    texts: textsFor(scenario, profile, locale, { graded: true, steps: [state.step] }),
    finished,
  }
}

/** What an event will surely change on the screen before the server has answered: the station's own state, marks in a
 *  scene, the order of a list. Whether it ends the step only the server knows. */
export function predict(
  scenario: Pick<StrippedScenario, 'stations'>,
  profile: EquipmentProfile,
  step: PlayStep,
  state: PlayState,
  event: PlayEvent,
): PlayState {
  if (event.type === 'station' && step.kind === 'operate') {
    const setup = scenario.stations[step.station]
    const held = state.stations[step.station]
    if (!setup || !held) return state
    // What comes of feeding a ballot hangs on what the browser isn't told.
    if (setup.kind === 'scanner' && event.event.type === 'feed') return state
    const next = machineOf(setup).apply(setup as never, profile, held, event.event)
    return next ? { ...state, stations: { ...state.stations, [step.station]: next } } : state
  }
  if (event.type === 'act' && !state.acts.includes(event.act))
    return { ...state, acts: [...state.acts, event.act].sort() }
  if (event.type === 'mark')
    return {
      ...state,
      marked: state.marked.includes(event.thing)
        ? state.marked.filter((t) => t !== event.thing)
        : [...state.marked, event.thing].sort(),
    }
  if (event.type === 'move') {
    const rest = state.order.filter((i) => i !== event.item)
    return { ...state, order: [...rest.slice(0, event.to), event.item, ...rest.slice(event.to)] }
  }
  return state
}
