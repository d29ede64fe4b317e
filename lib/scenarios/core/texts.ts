import type { EquipmentProfile, Locale, Scenario, Step } from '../schema'
import type { Mark } from './transition'

/** A text that a scenario must have, and when the trainee may see it. */
export interface TextKey {
  key: string
  /** `asked`: shown with the step. `after`: only once the step was answered (explanations; never sent ahead in
   *  graded play). `end`: with an ending. `page`: about the lesson. */
  when: 'page' | 'asked' | 'after' | 'end'
  step: string | null
  optional: boolean
}

/** Every text key that a scenario uses, derived from its structure: authors name nothing twice.
 *  The naming rules are in content/scenarios/AUTHORING.md. O(size). */
export function textKeys(scenario: Pick<Scenario, 'steps' | 'jobAid' | 'stations'>): TextKey[] {
  const page = (key: string): TextKey => ({ key, when: 'page', step: null, optional: false })
  return [
    page('title'),
    page('summary'),
    ...scenario.jobAid.map((id) => page(`job-aid.${id}`)),
    ...stationLabels(scenario).map(page),
    ...scenario.steps.flatMap(stepKeys),
  ]
}

function stepKeys(step: Step): TextKey[] {
  const made =
    (when: TextKey['when'], optional = false) =>
    (part: string): TextKey => ({
      key: `${step.id}.${part}`,
      when,
      step: step.id,
      optional,
    })
  const asked = made('asked')
  const after = made('after')
  if (step.kind === 'end') return ['title', 'text'].map(made('end'))
  const common = [...['title', 'text'].map(asked), made('asked', true)('hint')]
  switch (step.kind) {
    case 'decide':
      return [
        ...common,
        ...step.options.map((o) => asked(o.id)),
        ...step.options.filter((o) => o.judgement).map((o) => after(`${o.id}.why`)),
      ]
    case 'operate':
      return [
        ...common,
        asked('goal'),
        ...step.acts.map((a) => asked(a.id)),
        ...step.watch.map((w) => after(`${w.id}.why`)),
        ...step.outcomes.map((o) => after(`${o.id}.why`)),
        after('help.why'),
      ]
    case 'spot':
      return [
        ...common,
        ...step.things.map((t) => asked(t.id)),
        ...step.things.filter((t) => t.wrong).map((t) => after(`${t.id}.why`)),
        after('why'),
      ]
    case 'order':
      return [...common, ...step.items.map((i) => asked(i.id)), after('why')]
  }
}

/** Labels inside stations: contests of a ballot, places of seals. */
function stationLabels(scenario: Pick<Scenario, 'stations'>): string[] {
  const keys = Object.values(scenario.stations).flatMap((setup) => {
    if (setup.kind === 'ballot-marking') return setup.contests.map((c) => `station.${c.label}`)
    return setup.kind === 'seals' ? setup.seals.map((s) => `station.${s.label}`) : []
  })
  return [...new Set(keys)]
}

/** The key of the explanation that belongs to a mark. */
export const whyKey = (mark: Pick<Mark, 'step' | 'act'>): string =>
  mark.act === 'spot' || mark.act === 'order' ? `${mark.step}.why` : `${mark.step}.${mark.act}.why`

const FRAGMENT = /\{\{profile:([a-z0-9.-]+)\}\}/g

/** Names of the profile fragments that a text takes. */
export const fragmentsIn = (text: string): string[] => [...text.matchAll(FRAGMENT)].map((m) => m[1]!)

/** Puts the profile's words into a text. A fragment that the profile lacks stays visible, so it is seen and mended. */
export const fillText = (text: string, profile: EquipmentProfile, locale: Locale): string =>
  text.replace(FRAGMENT, (whole, key: string) => profile.fragments[locale][key] ?? whole)

/** A scenario's texts in one language with the profile's words filled in. `graded` leaves out every explanation and
 *  ending; `steps`, when given, keeps only these steps' texts (and the page's own). */
export function textsFor(
  scenario: Scenario,
  profile: EquipmentProfile,
  locale: Locale,
  options: { graded?: boolean; steps?: readonly string[] } = {},
): Record<string, string> {
  const out: Record<string, string> = {}
  for (const { key, when, step } of textKeys(scenario)) {
    if (options.graded && when === 'after') continue
    if (options.graded && when === 'end' && !(step && options.steps?.includes(step))) continue
    if (options.steps && step !== null && !options.steps.includes(step)) continue
    const text = scenario.texts[locale][key]
    if (text !== undefined) out[key] = fillText(text, profile, locale)
  }
  return out
}
