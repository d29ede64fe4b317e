import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { exploreLesson } from '@/lib/scenarios/core/explore'
import { scoreRange, soundPath } from '@/lib/scenarios/core/range'
import { replay } from '@/lib/scenarios/core/replay'
import {
  isFinished,
  type PlayState,
  startScenario,
  stepOf,
  transition,
} from '@/lib/scenarios/core/transition'
import type { PlayEvent, Scenario } from '@/lib/scenarios/schema'
import { profileOf, scenarioOf } from './support'

const profile = profileOf('fern')

/** Every way through a small scenario, by trying every event in every state, without the explorer: a state that was
 *  already on the way isn't entered again (that can earn nothing). Yields the best and worst mean of step points. */
function bruteForce(scenario: Scenario): { least: number; most: number; ends: number; complete: boolean } {
  let least = Number.POSITIVE_INFINITY
  let most = Number.NEGATIVE_INFINITY
  let ends = 0
  const events = (state: PlayState): PlayEvent[] => {
    const step = stepOf(scenario, state.step)
    switch (step.kind) {
      case 'decide':
        return step.options.map((o) => ({ type: 'choose', option: o.id }))
      case 'spot':
        return [...step.things.map((t): PlayEvent => ({ type: 'mark', thing: t.id })), { type: 'hand-in' }]
      case 'order':
        return [...state.order.map((item): PlayEvent => ({ type: 'move', item, to: 0 })), { type: 'hand-in' }]
      case 'operate':
        return [
          { type: 'ask-help' },
          ...['turn', 'flip', 'insert', 'take'].map(
            (type): PlayEvent => ({ type: 'station', event: { type } }),
          ),
        ]
      case 'end':
        return []
    }
  }
  let calls = 0
  const walk = (state: PlayState, way: Set<string>, weakest: Map<string, number>): void => {
    // Too many ways to try: the property skips such a graph.
    if (++calls > 30_000) return
    if (isFinished(scenario, state)) {
      const points = [...weakest.values()]
      const mean = points.length === 0 ? 0 : points.reduce((a, b) => a + b, 0) / points.length
      least = Math.min(least, mean)
      most = Math.max(most, mean)
      ends++
      return
    }
    for (const event of events(state)) {
      const next = transition(scenario, profile, state, event)
      const key = JSON.stringify(next.state)
      if (way.has(key)) continue
      const held = new Map(weakest)
      for (const mark of next.marks)
        if (mark.counts) held.set(mark.step, Math.min(mark.points, held.get(mark.step) ?? 1))
      walk(next.state, new Set(way).add(key), held)
    }
  }
  const start = startScenario(scenario, profile)
  walk(start, new Set([JSON.stringify(start)]), new Map())
  return { least, most, ends, complete: calls <= 30_000 }
}

const judgement = fc.constantFrom('sound', 'workable', 'mistake', 'critical')

/** Small graphs of up to five decisions with loops, flags and branches on them; every step may lead anywhere. */
const smallScenario = fc
  .record({
    count: fc.integer({ min: 1, max: 3 }),
    choices: fc.array(
      fc.array(
        fc.record({
          judgement,
          to: fc.nat(),
          flag: fc.option(fc.constantFrom('on', 'off')),
          branch: fc.option(fc.nat()),
        }),
        { minLength: 1, maxLength: 2 },
      ),
      { minLength: 4, maxLength: 4 },
    ),
    scene: fc.boolean(),
  })
  .map(({ count, choices, scene }) => {
    const names = [
      ...Array.from({ length: count }, (_, i) => `s${i}`),
      ...(scene ? ['look'] : []),
      'end-a',
      'end-b',
    ]
    const name = (n: number) => names[n % names.length]!
    return scenarioOf({
      flags: { lamp: ['off', 'on'] },
      start: 's0',
      steps: [
        ...choices.slice(0, count).map((options, i) => ({
          kind: 'decide',
          id: `s${i}`,
          competency: 'check-in',
          options: options.map((o, j) => ({
            id: `o${j}`,
            judgement: o.judgement,
            ...(o.flag ? { effects: { lamp: o.flag } } : {}),
            next:
              o.branch === null
                ? name(o.to)
                : {
                    branches: [{ when: { fact: 'flag.lamp', is: 'on' }, to: name(o.branch) }],
                    otherwise: name(o.to),
                  },
          })),
        })),
        ...(scene
          ? [
              {
                kind: 'spot',
                id: 'look',
                competency: 'accounting',
                scene: 'room',
                things: [
                  { id: 'a', wrong: true, critical: true },
                  { id: 'b', wrong: true },
                  { id: 'c', wrong: false },
                ],
                next: 'end-a',
                below: [{ fraction: 0.6, next: name(1) }],
              },
            ]
          : []),
        { kind: 'end', id: 'end-a', mood: 'well' },
        { kind: 'end', id: 'end-b', mood: 'harm' },
      ],
    })
  })

describe('the attainable score range', () => {
  it('equals that of brute force on small graphs with loops, flags and scenes', () => {
    fc.assert(
      fc.property(smallScenario, (scenario) => {
        const range = scoreRange(exploreLesson(scenario, profile))
        const brute = bruteForce(scenario)
        fc.pre(brute.complete)
        if (brute.ends === 0) {
          expect(range).toBeNull()
          return
        }
        expect(range!.least).toBeCloseTo(brute.least, 12)
        expect(range!.most).toBeCloseTo(brute.most, 12)
        const low = replay(scenario, profile, range!.leastPath)
        const high = replay(scenario, profile, range!.mostPath)
        expect([low.finished, high.finished]).toEqual([true, true])
        expect(low.scoreFraction).toBeCloseTo(range!.least, 12)
        expect(high.scoreFraction).toBeCloseTo(range!.most, 12)
      }),
      { numRuns: process.env.TEST_FULL === '1' ? 400 : 40 },
    )
  })

  it('equals that of brute force through a station and an order step', () => {
    const scenario = scenarioOf({
      start: 'turn-it',
      stations: { marker: { kind: 'ballot-marking', card: { way: 'wrong' } } },
      steps: [
        {
          kind: 'operate',
          id: 'turn-it',
          competency: 'card-handling',
          station: 'marker',
          controls: ['turn', 'flip', 'insert', 'take'],
          watch: [{ id: 'again', on: 'insert', is: { fact: 'card', is: 'returned' }, judgement: 'workable' }],
          outcomes: [
            { id: 'in', when: { fact: 'card', is: 'accepted' }, judgement: 'sound', next: 'steps' },
            { id: 'forced', when: { fact: 'returns', atLeast: 2 }, judgement: 'mistake', next: 'steps' },
          ],
          help: { next: 'end-a' },
        },
        {
          kind: 'order',
          id: 'steps',
          competency: 'accounting',
          items: [{ id: 'a' }, { id: 'b' }, { id: 'c' }],
          critical: [{ before: 'a', after: 'c' }],
          next: 'end-a',
        },
        { kind: 'end', id: 'end-a', mood: 'well' },
      ],
    })
    const graph = exploreLesson(scenario, profile)
    const brute = bruteForce(scenario)
    expect(brute.complete).toBe(true)
    expect(scoreRange(graph)).toMatchObject({ least: brute.least, most: brute.most })
    // By hand: turn, flip, insert; then hand in when in order. Nothing shorter is sound.
    const sound = soundPath(graph)!
    expect(
      sound
        .slice(0, 3)
        .map((e) => (e.type === 'station' ? e.event.type : e.type))
        .sort(),
    ).toEqual(['flip', 'insert', 'turn'])
    expect(replay(scenario, profile, sound).scoreFraction).toBe(1)
  })
})
