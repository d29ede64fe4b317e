import { describe, expect, it } from 'vitest'
import { findScenario, listEquipmentProfiles } from '@/lib/scenarios/content'
import { checkScenario } from '@/lib/scenarios/core/checker'
import { Scenario } from '@/lib/scenarios/schema'

const profiles = listEquipmentProfiles()
const good = findScenario('card-returned')!.scenario

// biome-ignore lint/suspicious/noExplicitAny: faults are put into a copy as an author could type them
type Draft = any

/** The rules and paths that speak up after one fault was put into a good lesson. */
function findingsAfter(
  fault: (draft: Draft) => void,
  options: { gradeLimit?: number; shipped?: boolean } = {},
) {
  const draft: Draft = structuredClone(good)
  fault(draft)
  // One profile is enough to find a fault, and quicker.
  return checkScenario(Scenario.parse(draft), { profiles: profiles.slice(0, 1), ...options }).findings
}
const step = (draft: Draft, id: string) => draft.steps.find((s: { id: string }) => s.id === id)
const option = (draft: Draft, s: string, o: string) =>
  step(draft, s).options.find((x: { id: string }) => x.id === o)

const FAULTS: [string, string, string, (draft: Draft) => void][] = [
  [
    'a next that names no step',
    'names',
    'steps.called.options.ask-near.next',
    (d) => {
      option(d, 'called', 'ask-near').next = 'nowhere'
    },
  ],
  [
    'a source that is not declared',
    'names',
    'steps.called.options.ask-near.source',
    (d) => {
      option(d, 'called', 'ask-near').source = 'some-law'
    },
  ],
  [
    'an effect on an undeclared value',
    'names',
    'steps.called.options.ask-near.effects.mood',
    (d) => {
      option(d, 'called', 'ask-near').effects = { mood: 'angry' }
    },
  ],
  [
    'a step that nothing leads to',
    'reach',
    'steps.island',
    (d) => {
      d.steps.push({
        kind: 'decide',
        id: 'island',
        competency: 'check-in',
        options: [{ id: 'read-on', next: 'end-well' }],
      })
    },
  ],
  [
    'a loop without a way out',
    'reach',
    'steps.lost',
    (d) => {
      step(d, 'lost').options[0].next = 'lost'
    },
  ],
  [
    'a decision without a sound option',
    'judgements',
    'steps.stay',
    (d) => {
      option(d, 'stay', 'step-back').judgement = 'workable'
    },
  ],
  [
    'a fact that the station does not have',
    'conditions',
    'steps.turn-it.outcomes.went-in.when',
    (d) => {
      step(d, 'turn-it').outcomes[0].when = { fact: 'card-state', is: 'in' }
    },
  ],
  [
    'a control that the station does not have',
    'stations',
    'steps.turn-it.controls',
    (d) => {
      step(d, 'turn-it').controls.push('shake')
    },
  ],
  [
    'a missing Spanish text',
    'translations',
    'texts.es.called.text',
    (d) => {
      delete d.texts.es['called.text']
    },
  ],
  [
    'a text that nothing uses',
    'translations',
    'texts.en.called.txt',
    (d) => {
      d.texts.en['called.txt'] = 'Lost.'
    },
  ],
  [
    'an option without feedback',
    'translations',
    'texts.en.called.ask-near.why',
    (d) => {
      delete d.texts.en['called.ask-near.why']
    },
  ],
  [
    'an unknown fragment',
    'translations',
    'texts.en.called.text',
    (d) => {
      d.texts.en['called.text'] += ' {{profile:card.colour}}'
    },
  ],
  [
    'a judged option without a source',
    'explanations',
    'steps.called.options.ask-near',
    (d) => {
      delete option(d, 'called', 'ask-near').source
    },
  ],
  [
    'a critical option that is not explained',
    'explanations',
    'texts.en.stand.behind.why',
    (d) => {
      d.texts.en['stand.behind.why'] = 'Never do that.'
    },
  ],
  [
    'an outcome that holds before anything is done',
    'outcomes',
    'steps.turn-it.outcomes.went-in',
    (d) => {
      step(d, 'turn-it').outcomes[0].when = { fact: 'card', is: 'hand' }
    },
  ],
  [
    'an outcome that can never come about',
    'outcomes',
    'steps.turn-it.outcomes.later',
    (d) => {
      step(d, 'turn-it').outcomes.push({
        ...step(d, 'turn-it').outcomes[1],
        id: 'later',
        when: { fact: 'returns', atLeast: 4 },
      })
    },
  ],
  [
    'no sound way through',
    'sound-route',
    'steps',
    (d) => {
      for (const o of step(d, 'stay').options) if (o.judgement === 'sound') o.next = 'which-one'
      option(d, 'which-one', 'cant-choose').next = 'stay'
    },
  ],
]

describe('the checker', () => {
  it('finds nothing wrong in the first lesson', () => {
    expect(checkScenario(good, { profiles, shipped: true }).findings).toEqual([])
  })

  it.each(FAULTS)('finds %s', (_name, rule, path, fault) => {
    const all = findingsAfter(fault)
    const found = all.find((f) => f.rule === rule && f.level === 'error' && f.path === path)
    expect(found, JSON.stringify(all, null, 1)).toBeDefined()
    for (const part of [found!.found, found!.expected, found!.tip]) expect(part.length).toBeGreaterThan(0)
  })

  it('measures English against the limit that the county sets', () => {
    const hard =
      'Contemporary administration necessitates uninterrupted documentation of every irregularity whatsoever, notwithstanding considerations of expediency or convenience expressed by participating individuals, organisations, observers, journalists, candidates or authorities anywhere imaginable.'
    const fault = (d: Draft) => {
      d.texts.en['called.text'] = hard
    }
    expect(
      findingsAfter(fault).some((f) => f.rule === 'reading-grade' && f.path === 'texts.en.called.text'),
    ).toBe(true)
    expect(findingsAfter(fault, { gradeLimit: 60 }).some((f) => f.rule === 'reading-grade')).toBe(false)
  })

  it('asks of a shipped lesson for hands, wrong branches that play out and five judged steps', () => {
    const tiny: Draft = structuredClone(good)
    tiny.steps = [
      {
        kind: 'decide',
        id: 'called',
        competency: 'check-in',
        options: [
          { id: 'ask-near', judgement: 'sound', source: 'common-practice', next: 'end-well' },
          { id: 'take-card', judgement: 'mistake', source: 'common-practice', next: 'end-well' },
        ],
      },
      { kind: 'end', id: 'end-well', mood: 'well' },
    ]
    const said = checkScenario(Scenario.parse(tiny), { profiles, shipped: true }).findings.filter(
      (f) => f.rule === 'shape',
    )
    expect(said.map((f) => f.found)).toEqual([
      ...profiles.map((p) => `1 judged steps on the sound way (${p.id})`),
      '0 wrong choices with a step of their own (none)',
      'only decisions',
      'one ending',
    ])
  })
})
