import { describe, expect, it } from 'vitest'
import { seededRandom, seedOf } from '@/lib/kernel/random'
import { listEquipmentProfiles, listScenarios, profilesFor } from '@/lib/scenarios/content'
import { checkScenario } from '@/lib/scenarios/core/checker'
import { randomPath } from '@/lib/scenarios/core/random-path'
import { replay } from '@/lib/scenarios/core/replay'
import { stripScenario } from '@/lib/scenarios/core/strip'
import { textsFor } from '@/lib/scenarios/core/texts'
import { LOCALES } from '@/lib/scenarios/core/words'

const FULL = process.env.TEST_FULL === '1'
const profiles = listEquipmentProfiles()
const all = listScenarios()
/** All in the full run; else a sample that changes with what is shipped, not with the clock. */
const sample = FULL
  ? all
  : seededRandom(seedOf(`sample of ${all.length}`))
      .shuffle(all)
      .slice(0, 4)

describe('equipment profiles', () => {
  it('are three, and differ in every trait that lessons build on', () => {
    expect(profiles.map((p) => p.id)).toEqual(['fern', 'moss', 'reed'])
    const traits = [
      (p: (typeof profiles)[number]) => p.card.cue,
      (p: (typeof profiles)[number]) => JSON.stringify(p.card.accepts),
      (p: (typeof profiles)[number]) => p.checkIn.rule,
      (p: (typeof profiles)[number]) => `${p.selection.undervoteNotice} ${p.marking}`,
      (p: (typeof profiles)[number]) => JSON.stringify([p.scanner.undervote, p.scanner.blank]),
    ]
    for (const trait of traits) expect(new Set(profiles.map(trait)).size).toBeGreaterThanOrEqual(3)
  })

  it('have the same fragments in each language', () => {
    const keys = Object.keys(profiles[0]!.fragments.en).sort()
    for (const profile of profiles)
      for (const locale of LOCALES) expect(Object.keys(profile.fragments[locale]).sort()).toEqual(keys)
  })
})

describe('lessons that ship', () => {
  it('have a number each', () => {
    expect(new Set(all.map((s) => s.number)).size).toBe(all.length)
  })

  it.each(sample.map((s) => [s.id, s] as const))(
    '%s passes the checker in both languages',
    (_id, scenario) => {
      const { findings } = checkScenario(scenario, { profiles, shipped: true })
      expect(findings.filter((f) => f.level === 'error')).toEqual([])
    },
  )

  it.each(sample.map((s) => [s.id, s] as const))('%s ends on every generated path', (_id, scenario) => {
    for (const profile of profilesFor(scenario))
      for (let seed = 0; seed < (FULL ? 200 : 25); seed++) {
        const path = randomPath(scenario, profile, seededRandom(seedOf(`${scenario.id} ${seed}`)))
        const played = replay(scenario, profile, path)
        expect(played.finished).toBe(true)
        expect(played.refused).toEqual([])
        expect(played.scoreFraction).toBeGreaterThanOrEqual(0)
        expect(played.scoreFraction).toBeLessThanOrEqual(1)
      }
  })

  it.each(all.map((s) => [s.id, s] as const))(
    '%s sends no judgement, key or explanation ahead',
    (_id, scenario) => {
      const sent = keysOf(stripScenario(scenario))
      for (const key of [
        'judgement',
        'source',
        'next',
        'effects',
        'watch',
        'outcomes',
        'wrong',
        'items',
        'mood',
        'flags',
      ])
        expect(sent).not.toContain(key)
      for (const locale of LOCALES) {
        const texts = textsFor(scenario, profilesFor(scenario)[0]!, locale, { graded: true })
        expect(Object.keys(texts).filter((k) => k.endsWith('.why'))).toEqual([])
      }
    },
  )
})

/** Every key in a JSON value, at any depth. */
function keysOf(value: unknown): string[] {
  if (value === null || typeof value !== 'object') return []
  return Object.entries(value).flatMap(([key, held]) => [
    ...(Array.isArray(value) ? [] : [key]),
    ...keysOf(held),
  ])
}
