/** What a browser gets in graded play: no judgement, no feedback, no key, no way on. The server answers each event
 *  with the next state (and the next step's stripped definition and texts). */
import type { DecideStep, OperateStep, Scenario, SpotStep, StationSetup, Step } from '../schema'
import { shownOrder } from './shuffle'

interface Common {
  id: string
}
export interface PlayDecide extends Common {
  kind: 'decide'
  scene?: string | undefined
  options: { id: string }[]
}
export interface PlayOperate extends Common {
  kind: 'operate'
  station: string
  controls?: string[] | undefined
  acts: { id: string }[]
}
export interface PlaySpot extends Common {
  kind: 'spot'
  scene: SpotStep['scene']
  things: { id: string }[]
}
export interface PlayOrder extends Common {
  kind: 'order'
}
export interface PlayEnd extends Common {
  kind: 'end'
  mood?: 'well' | 'mended' | 'harm' | undefined
}
/** A step as the player shows it, in either mode. */
export type PlayStep = PlayDecide | PlayOperate | PlaySpot | PlayOrder | PlayEnd

export interface StrippedScenario {
  id: string
  version: number
  stripped: true
  minutes: number
  start: string
  stations: Record<string, StationSetup>
  steps: PlayStep[]
}

const ids = (list: readonly { id: string }[]) => list.map(({ id }) => ({ id }))

/** A step with everything taken out that could tell an answer; options, acts and things in their shown order. */
export function playStep(scenario: Pick<Scenario, 'id'>, step: Step): PlayStep {
  switch (step.kind) {
    case 'decide':
      return {
        kind: 'decide',
        id: step.id,
        scene: step.scene,
        options: ids(shown(scenario, step, step.options)),
      }
    case 'operate':
      return {
        kind: 'operate',
        id: step.id,
        station: step.station,
        controls: step.controls,
        acts: ids(shown(scenario, step, step.acts)),
      }
    case 'spot':
      return { kind: 'spot', id: step.id, scene: step.scene, things: ids(shown(scenario, step, step.things)) }
    case 'order':
      return { kind: 'order', id: step.id }
    case 'end':
      return { kind: 'end', id: step.id }
  }
}

const shown = <T extends { id: string }>(
  scenario: Pick<Scenario, 'id'>,
  step: DecideStep | OperateStep | SpotStep,
  list: readonly T[],
): T[] => shownOrder(scenario, step.id, list)

/** A station's set-up without what the trainee has yet to find out: which line is the visitor's, how the ballots are
 *  marked, which of them jams and when the box is full. Its length and ways stay: they are seen. */
function shownSetup(setup: StationSetup): StationSetup {
  if (setup.kind === 'check-in') return { ...setup, visitor: null }
  if (setup.kind === 'scanner')
    return {
      ...setup,
      room: Number.MAX_SAFE_INTEGER,
      ballots: setup.ballots.map((ballot) => ({ ...ballot, marks: 'fine', jams: false })),
    }
  return setup
}

/** The stripped scenario. `only` limits it to some steps (graded play starts with the first one alone, so that even
 *  the texts of what could go wrong stay on the server). */
export function stripScenario(scenario: Scenario, only?: readonly string[]): StrippedScenario {
  return {
    id: scenario.id,
    version: scenario.version,
    stripped: true,
    minutes: scenario.minutes,
    start: scenario.start,
    stations: Object.fromEntries(
      Object.entries(scenario.stations).map(([name, setup]) => [name, shownSetup(setup)]),
    ),
    steps: scenario.steps.filter((s) => !only || only.includes(s.id)).map((s) => playStep(scenario, s)),
  }
}
