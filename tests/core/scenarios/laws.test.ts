import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { canonicalJson } from '@/lib/kernel/hash'
import { seededRandom } from '@/lib/kernel/random'
import { findScenario, profilesFor } from '@/lib/scenarios/content'
import { randomPath } from '@/lib/scenarios/core/random-path'
import { replay } from '@/lib/scenarios/core/replay'
import { isFinished, startScenario, transition } from '@/lib/scenarios/core/transition'
import type { PlayEvent } from '@/lib/scenarios/schema'

const scenario = findScenario('card-returned')!.scenario
const profiles = profilesFor(scenario)
const SIZE = process.env.TEST_FULL === '1' ? 10 : 1
const seeds = fc.integer({ min: 0, max: 2 ** 31 })
const profile = fc.constantFrom(...profiles)

/** Events of every kind, most of them not allowed where they fall, some not even well named. */
const anyEvent: fc.Arbitrary<PlayEvent> = fc.oneof(
  fc.record({
    type: fc.constant('choose' as const),
    option: fc.constantFrom('ask-near', 'beside', 'nobody', 'constructor'),
  }),
  fc.record({
    type: fc.constant('act' as const),
    act: fc.constantFrom('ask-leave', 'read-screen', 'toString'),
  }),
  fc.record({ type: fc.constant('mark' as const), thing: fc.constantFrom('x', '__proto__') }),
  fc.record({
    type: fc.constant('move' as const),
    item: fc.constantFrom('ask', 'x'),
    to: fc.integer({ min: -3, max: 99 }),
  }),
  fc.record({
    type: fc.constant('station' as const),
    event: fc.record({
      type: fc.constantFrom('turn', 'insert', 'take', 'choose', 'print', 'text-size', 'constructor'),
      to: fc.oneof(fc.integer(), fc.string(), fc.constant(null)),
      choice: fc.string(),
    }),
  }),
  fc.constant({ type: 'hand-in' as const }),
  fc.constant({ type: 'ask-help' as const }),
)

const freeze = <T>(value: T): T => {
  if (value !== null && typeof value === 'object') {
    Object.freeze(value)
    Object.values(value).forEach(freeze)
  }
  return value
}

describe('laws of playing a scenario', () => {
  it('replaying a log gives the same state and marks as playing it', () => {
    fc.assert(
      fc.property(seeds, profile, (seed, p) => {
        const path = randomPath(scenario, p, seededRandom(seed))
        let state = startScenario(scenario, p)
        const marks = []
        for (const event of path) {
          const next = transition(scenario, p, state, event)
          state = next.state
          marks.push(...next.marks)
        }
        const again = replay(scenario, p, JSON.parse(JSON.stringify(path)))
        expect(canonicalJson(again.state)).toBe(canonicalJson(state))
        expect(again.marks).toEqual(marks)
        expect(again.finished).toBe(true)
      }),
      { numRuns: 30 * SIZE },
    )
  })

  it('an event that is not allowed changes nothing and earns nothing', () => {
    fc.assert(
      fc.property(seeds, profile, fc.integer({ min: 0, max: 40 }), anyEvent, (seed, p, upTo, event) => {
        const path = randomPath(scenario, p, seededRandom(seed)).slice(0, upTo)
        const { state } = replay(scenario, p, path)
        const next = transition(scenario, p, state, event)
        if (next.state === state) expect(next.marks).toEqual([])
        else {
          // Allowed: then it must be an event that this step knows.
          const step = scenario.steps.find((s) => s.id === state.step)!
          const kinds = {
            decide: ['choose'],
            operate: ['act', 'station', 'ask-help'],
            spot: ['mark', 'hand-in'],
            order: ['move', 'hand-in'],
            end: [] as string[],
          }
          expect(kinds[step.kind]).toContain(event.type)
        }
      }),
      { numRuns: 150 * SIZE },
    )
  })

  it('leaving the refused events out of a log gives the same result', () => {
    fc.assert(
      fc.property(
        seeds,
        profile,
        fc.array(fc.tuple(fc.nat(60), anyEvent), { maxLength: 15 }),
        (seed, p, noise) => {
          const log = [...randomPath(scenario, p, seededRandom(seed))]
          for (const [at, event] of noise) log.splice(at % (log.length + 1), 0, event)
          const noisy = replay(scenario, p, log)
          const clean = replay(
            scenario,
            p,
            log.filter((_, i) => !noisy.refused.includes(i)),
          )
          expect(clean.refused).toEqual([])
          expect(canonicalJson(clean.state)).toBe(canonicalJson(noisy.state))
          expect(clean.marks).toEqual(noisy.marks)
        },
      ),
      { numRuns: 50 * SIZE },
    )
  })

  it('never changes the state that it is given', () => {
    fc.assert(
      fc.property(seeds, profile, (seed, p) => {
        let state = freeze(startScenario(scenario, p))
        for (const event of randomPath(scenario, p, seededRandom(seed)))
          state = freeze(transition(scenario, p, state, event).state)
        expect(isFinished(scenario, state)).toBe(true)
      }),
      { numRuns: 30 * SIZE },
    )
  })

  it('scores between 0 and 1, and 1 only where every counted mark is sound', () => {
    fc.assert(
      fc.property(seeds, profile, (seed, p) => {
        const { scoreFraction, marks, byCompetency } = replay(
          scenario,
          p,
          randomPath(scenario, p, seededRandom(seed)),
        )
        expect(scoreFraction).toBeGreaterThanOrEqual(0)
        expect(scoreFraction).toBeLessThanOrEqual(1)
        expect(scoreFraction === 1).toBe(marks.filter((m) => m.counts).every((m) => m.points === 1))
        const topics = Object.values(byCompetency)
        const points = topics.reduce((sum, t) => sum + t.points, 0)
        const steps = topics.reduce((sum, t) => sum + t.steps, 0)
        expect(points / steps).toBeCloseTo(scoreFraction, 12)
      }),
      { numRuns: 30 * SIZE },
    )
  })
})
