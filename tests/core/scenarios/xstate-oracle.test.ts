import { describe, expect, it } from 'vitest'
import { fromTransition } from 'xstate'
import { getShortestPaths } from 'xstate/graph'
import { findScenario, profilesFor } from '@/lib/scenarios/content'
import { exploreLesson, operateMoves } from '@/lib/scenarios/core/explore'
import { soundPath } from '@/lib/scenarios/core/range'
import { startScenario, transition } from '@/lib/scenarios/core/transition'
import type { PlayEvent, Scenario } from '@/lib/scenarios/schema'
import { profileOf, scenarioOf } from './support'

const station = (type: string): PlayEvent => ({ type: 'station', event: { type } })

/** Getting a card in, judged only by where it ends. */
const turnIt = (): Scenario =>
  scenarioOf({
    start: 'turn-it',
    stations: { marker: { kind: 'ballot-marking', card: { way: 'wrong' } } },
    steps: [
      {
        kind: 'operate',
        id: 'turn-it',
        competency: 'card-handling',
        station: 'marker',
        controls: ['turn', 'flip', 'insert', 'take'],
        watch: [{ id: 'again', on: 'insert', is: { fact: 'card', is: 'returned' }, judgement: 'mistake' }],
        outcomes: [
          { id: 'in', when: { fact: 'card', is: 'accepted' }, judgement: 'sound', next: 'end-a' },
          { id: 'forced', when: { fact: 'returns', atLeast: 2 }, judgement: 'mistake', next: 'end-a' },
        ],
        help: { next: 'end-a' },
      },
      { kind: 'end', id: 'end-a', mood: 'well' },
    ],
  })

describe('the path generator against the graph tools of XState', () => {
  // By hand: fern and reed take one way, so the wrong one needs turn, flip and insert; moss takes either face, so turn
  // and insert.
  it.each([
    ['fern', 3],
    ['moss', 2],
    ['reed', 3],
  ])('finds as short a clean way to get the card in on %s: %i events', (id, byHand) => {
    const scenario = turnIt()
    const profile = profileOf(id)
    // The same machine as XState sees it: it knows nothing of hubs, layers or judgements, only of states and events.
    // A step with a bad mark goes to a sink, so that only clean ways are left.
    const sink = { ...startScenario(scenario, profile), step: 'end-a', fired: ['spoilt'] }
    const logic = fromTransition(
      (state, event: PlayEvent) => {
        if (state === sink) return state
        const next = transition(scenario, profile, state, event)
        return next.marks.some((m) => m.judgement !== 'sound') ? sink : next.state
      },
      startScenario(scenario, profile),
    )
    const paths = getShortestPaths(logic, {
      events: ['turn', 'flip', 'insert', 'take'].map(station) as never,
      serializeState: (s) => JSON.stringify(s.context),
      toState: (s) => s.context.step === 'end-a' && !s.context.fired.includes('spoilt'),
      limit: 10_000,
    })
    const shortest = Math.min(
      ...paths.map((p) => p.steps.filter((s) => (s.event.type as string) !== 'xstate.init').length),
    )
    expect(shortest).toBe(byHand)
    expect(soundPath(exploreLesson(scenario, profile))).toHaveLength(shortest)
  })

  it('offers in every state of the first lesson only moves that change something', () => {
    const { scenario } = findScenario('card-returned')!
    for (const profile of profilesFor(scenario)) {
      const graph = exploreLesson(scenario, profile)
      for (const hub of graph.hubs.values()) {
        if (hub.step !== 'turn-it') continue
        for (const event of operateMoves(scenario, profile, hub.state))
          expect(transition(scenario, profile, hub.state, event).state).not.toBe(hub.state)
      }
    }
  })
})
