import type { CivilDate } from '@/lib/kernel/dates'
import type { Competency, Locale } from '../schema'
import { expectedAbility } from './ability'
import { testStatistics } from './classical'
import { type ItemFunctioning, itemFunctioning } from './differential-functioning'
import { type Finding, itemFindings, type OptionStatistics, optionStatistics } from './distractors'
import { type Drift, driftOf } from './drift'
import { ENOUGH_ANSWERS, ENOUGH_FOR_RASCH, ENOUGH_FOR_RELIABILITY, ENOUGH_FOR_TWO_PARAMETERS } from './enough'
import { exposureOf } from './exposure'
import { fitLatentModel, type LatentFit } from './latent-model'
import { type ClassificationReport, livingstonLewis } from './livingston-lewis'
import { type Responses, responsesFromMarks } from './responses'

/** One finished quiz, as far as statistics need it. */
export interface SittingRecord {
  personId: string
  on: CivilDate
  locale: Locale
  passed: boolean
  scoreFraction: number
  cutFraction: number
  items: SatItem[]
}
export interface SatItem {
  id: string
  kind: 'question' | 'story'
  competency: Competency
  /** Share of its points. */
  fraction: number
  weight: number
  /** False for questions on trial. */
  counted: boolean
  /** What was chosen, for a single choice; null where it was left empty. */
  option?: string | null
}

export interface ItemReport {
  id: string
  kind: 'question' | 'story'
  people: number
  p: number | null
  pointBiserial: number | null
  correctedPointBiserial: number | null
  options: OptionStatistics[]
  findings: Finding[]
  rasch: { difficulty: number; error: number | null } | null
  twoParameter: { difficulty: number; discrimination: number } | null
  /** People in groups of like ability: mean ability, share right, number. */
  observed: { ability: number; share: number; people: number }[]
  /** English is the reference, Spanish the focal group. */
  functioning: (ItemFunctioning & { en: number; es: number }) | null
  drift: (Drift & { before: number | null; after: number | null }) | null
  /** Share of all forms drawn, marked or not, that had it. */
  exposure: number
}

export interface QuizReport {
  /** Finished sittings; the figures are about each person's first one, exposure about all. */
  sittings: number
  people: number
  passRate: number | null
  meanFraction: number | null
  deviation: number | null
  cutFraction: number | null
  /** People by score: twenty classes of 5 %, the last with its upper end. */
  histogram: number[]
  /** Over the parts that all forms have alike. */
  reliability: { alpha: number; parts: number; people: number; standardError: number } | null
  consistency: ClassificationReport | null
  rasch: { people: number; logLikelihood: number; abilities: number[] } | null
  twoParameter: { people: number; logLikelihood: number } | null
  languages: { en: number; es: number }
  driftSplitOn: CivilDate | null
  exposure: { forms: number; highest: number; lowest: number; meanOverlap: number | null }
  items: ItemReport[]
}

export interface QuizReportInput {
  sittings: readonly SittingRecord[]
  /** Options of single-choice questions, with their key. */
  options: ReadonlyMap<string, readonly { id: string; right: boolean }[]>
  /** What stood on forms that were drawn and never marked (open, or withdrawn): it was seen all the same. */
  unmarked?: readonly (readonly string[])[]
}

/** What is being worked out, for somebody who waits. */
export type ReportStep = 'classical' | 'rasch' | 'two-parameter' | 'questions'

const full = (item: SatItem): 0 | 1 => (item.fraction >= 1 - 1e-9 ? 1 : 0)

/** Everything that the pages show of a quiz, from its finished sittings. Figures that need more people than there are
 *  are null. Latent models, language and drift take an answer as right when it earned all its points; stories are left
 *  out of them. `onStep` is told what is being done and how far the whole is (0 to 1).
 *  O(sittings × items), and the fits (see fitLatentModel). */
export function quizReport(
  { sittings, options, unmarked = [] }: QuizReportInput,
  onStep: (step: ReportStep, share: number) => void = () => undefined,
): QuizReport {
  onStep('classical', 0)
  const inOrder = [...sittings].sort((a, b) => (a.on < b.on ? -1 : a.on > b.on ? 1 : 0))
  const seen = new Set<string>()
  const first = inOrder.filter((s) => !seen.has(s.personId) && seen.add(s.personId))
  const kinds = new Map(sittings.flatMap((s) => s.items.map((item) => [item.id, item.kind] as const)))
  const ids = [...kinds.keys()].sort()
  const at = new Map(ids.map((id, i) => [id, i]))
  const exposure = exposureOf([...sittings.map((s) => s.items.map((item) => item.id)), ...unmarked], ids)
  const base = {
    sittings: sittings.length,
    people: first.length,
    exposure: {
      forms: exposure.forms,
      highest: exposure.highest,
      lowest: exposure.lowest,
      meanOverlap: exposure.meanOverlap,
    },
  }
  if (first.length === 0)
    return {
      ...base,
      passRate: null,
      meanFraction: null,
      deviation: null,
      cutFraction: null,
      histogram: new Array<number>(20).fill(0),
      reliability: null,
      consistency: null,
      rasch: null,
      twoParameter: null,
      languages: { en: 0, es: 0 },
      driftSplitOn: null,
      items: [],
    }

  const rows = first.map((s) => {
    const row = new Array<number | null>(ids.length).fill(null)
    for (const item of s.items) row[at.get(item.id)!] = item.fraction
    return row
  })
  const classical = testStatistics(responsesFromMarks(rows)).items
  const latent = latentFits(first, ids, at, kinds, onStep)
  onStep('questions', 0.8)
  const languages = {
    en: first.filter((s) => s.locale === 'en').length,
    es: first.filter((s) => s.locale === 'es').length,
  }
  const splitOn = first.length < 2 ? null : first[Math.floor(first.length / 2)]!.on
  const drift = splitOn ? driftByItem(first, ids, splitOn) : new Map<string, ItemReport['drift']>()
  const spread = spreadOf(first)
  const reliability = partsReliability(first)
  const cutFraction = first.at(-1)!.cutFraction
  return {
    ...base,
    passRate: first.filter((s) => s.passed).length / first.length,
    meanFraction: spread.mean,
    deviation: Math.sqrt(spread.variance),
    cutFraction,
    histogram: histogramOf(first),
    reliability: reliability && {
      ...reliability,
      standardError: Math.sqrt(spread.variance * (1 - reliability.alpha)),
    },
    consistency:
      reliability &&
      livingstonLewis({ ...spread, reliability: reliability.alpha, least: 0, most: 1 }, cutFraction),
    rasch: latent.rasch && {
      people: first.length,
      logLikelihood: latent.rasch.logLikelihood,
      abilities: latent.abilities,
    },
    twoParameter: latent.twoParameter && {
      people: first.length,
      logLikelihood: latent.twoParameter.logLikelihood,
    },
    languages,
    driftSplitOn: splitOn,
    items: ids.map((id, i): ItemReport => {
      onStep('questions', 0.8 + (0.2 * i) / ids.length)
      const own = optionsOf(first, id, options.get(id))
      const item = classical[i]!
      return {
        id,
        kind: kinds.get(id)!,
        people: item.people,
        p: item.p,
        pointBiserial: item.pointBiserial,
        correctedPointBiserial: item.correctedPointBiserial,
        options: own,
        findings: itemFindings(item, own),
        rasch: raschOf(latent.rasch, i),
        twoParameter: twoParameterOf(latent.twoParameter, i),
        observed: observedOf(first, latent.abilities, id),
        functioning: functioningOf(first, id),
        drift: drift.get(id) ?? null,
        exposure: exposure.rates.get(id) ?? 0,
      }
    }),
  }
}

function spreadOf(sittings: readonly SittingRecord[]): { mean: number; variance: number } {
  const mean = sittings.reduce((sum, s) => sum + s.scoreFraction, 0) / sittings.length
  return {
    mean,
    variance: sittings.reduce((sum, s) => sum + (s.scoreFraction - mean) ** 2, 0) / sittings.length,
  }
}

function histogramOf(sittings: readonly SittingRecord[]): number[] {
  const counts = new Array<number>(20).fill(0)
  for (const s of sittings) counts[Math.min(19, Math.floor(s.scoreFraction * 20 + 1e-9))]!++
  return counts
}

/** Cronbach's alpha over what the forms have in common: the first, second … question of each competency, and each
 *  story. People whose form has other parts than most (a paper form) are left out. */
function partsReliability(
  sittings: readonly SittingRecord[],
): { alpha: number; parts: number; people: number } | null {
  const partsOf = (s: SittingRecord) => {
    const times = new Map<string, number>()
    return s.items
      .filter((item) => item.counted)
      .sort((a, b) => (a.id < b.id ? -1 : 1))
      .map((item) => {
        const n = times.get(item.competency) ?? 0
        times.set(item.competency, n + 1)
        const name = item.kind === 'story' ? item.id : `${item.competency} ${n}`
        return { name, points: item.fraction * item.weight, weight: item.weight }
      })
      .sort((a, b) => (a.name < b.name ? -1 : 1))
  }
  const bySignature = new Map<string, ReturnType<typeof partsOf>[]>()
  for (const s of sittings) {
    const parts = partsOf(s)
    const signature = parts.map((p) => `${p.name}×${p.weight}`).join()
    bySignature.set(signature, [...(bySignature.get(signature) ?? []), parts])
  }
  const most = [...bySignature.values()].sort((a, b) => b.length - a.length)[0]!
  const parts = most[0]!.length
  if (most.length < ENOUGH_FOR_RELIABILITY || parts < 2) return null
  // Alpha doesn't change with the unit of the points.
  const top = Math.max(...most[0]!.map((p) => p.weight))
  const { kr20 } = testStatistics(responsesFromMarks(most.map((row) => row.map((p) => p.points / top))))
  return kr20 === null ? null : { alpha: kr20, parts, people: most.length }
}

function latentFits(
  sittings: readonly SittingRecord[],
  ids: readonly string[],
  at: ReadonlyMap<string, number>,
  kinds: ReadonlyMap<string, string>,
  onStep: (step: ReportStep, share: number) => void,
): { rasch: LatentFit | null; twoParameter: LatentFit | null; abilities: number[] } {
  if (sittings.length < ENOUGH_FOR_RASCH) return { rasch: null, twoParameter: null, abilities: [] }
  const rows = sittings.map((s) => {
    const row = new Array<number | null>(ids.length).fill(null)
    for (const item of s.items) if (kinds.get(item.id) === 'question') row[at.get(item.id)!] = full(item)
    return row
  })
  const responses = responsesFromMarks(rows)
  const rasch = fitOrNull(responses, 'rasch', (share) => onStep('rasch', 0.1 + 0.2 * share))
  return {
    rasch,
    twoParameter:
      sittings.length < ENOUGH_FOR_TWO_PARAMETERS
        ? null
        : fitOrNull(responses, 'two-parameter', (share) => onStep('two-parameter', 0.3 + 0.5 * share)),
    abilities: rasch
      ? rows.map((row) =>
          expectedAbility(
            row.map((mark) => mark ?? Number.NaN),
            rasch.difficulties,
          ),
        )
      : [],
  }
}

function fitOrNull(
  responses: Responses,
  model: 'rasch' | 'two-parameter',
  onShare: (share: number) => void,
): LatentFit | null {
  try {
    return fitLatentModel(responses, model, { errors: model === 'rasch', onShare })
  } catch (error) {
    // Too few answers for the model: expected, and said so on the page.
    if (error instanceof RangeError) return null
    throw error
  }
}

function raschOf(fit: LatentFit | null, i: number): ItemReport['rasch'] {
  const difficulty = fit?.difficulties[i]
  return difficulty == null ? null : { difficulty, error: fit?.difficultyErrors?.[i] ?? null }
}

function twoParameterOf(fit: LatentFit | null, i: number): ItemReport['twoParameter'] {
  const difficulty = fit?.difficulties[i]
  const discrimination = fit?.discriminations[i]
  return difficulty == null || discrimination == null ? null : { difficulty, discrimination }
}

function optionsOf(
  sittings: readonly SittingRecord[],
  id: string,
  options: readonly { id: string; right: boolean }[] | undefined,
): OptionStatistics[] {
  if (!options) return []
  const choices = sittings.flatMap((s) => {
    const item = s.items.find((each) => each.id === id)
    if (!item) return []
    const rest = s.items.filter((each) => each !== item && each.counted)
    const possible = rest.reduce((sum, each) => sum + each.weight, 0)
    const earned = rest.reduce((sum, each) => sum + each.fraction * each.weight, 0)
    return [{ option: item.option ?? null, restFraction: possible > 0 ? earned / possible : 0 }]
  })
  return optionStatistics(options, choices)
}

const GROUPS = 5

/** People who had the question, in five groups of like ability, for the dots beside a curve. */
function observedOf(
  sittings: readonly SittingRecord[],
  abilities: readonly number[],
  id: string,
): ItemReport['observed'] {
  if (abilities.length === 0) return []
  const people = sittings
    .flatMap((s, i) => {
      const item = s.items.find((each) => each.id === id && each.kind === 'question')
      return item ? [{ ability: abilities[i]!, right: full(item) }] : []
    })
    .sort((a, b) => a.ability - b.ability)
  if (people.length < ENOUGH_ANSWERS) return []
  return Array.from({ length: GROUPS }, (_, g) => {
    const own = people.slice(
      Math.floor((g * people.length) / GROUPS),
      Math.floor(((g + 1) * people.length) / GROUPS),
    )
    return {
      ability: own.reduce((sum, person) => sum + person.ability, 0) / own.length,
      share: own.reduce((sum, person) => sum + person.right, 0) / own.length,
      people: own.length,
    }
  })
}

/** People are matched by how many questions of their form they answered right, this one included. */
function functioningOf(sittings: readonly SittingRecord[], id: string): ItemReport['functioning'] {
  const answers = sittings.flatMap((s) => {
    const item = s.items.find((each) => each.id === id && each.kind === 'question')
    if (!item) return []
    const total = s.items.filter((each) => each.counted).reduce<number>((sum, each) => sum + full(each), 0)
    return [{ focal: s.locale === 'es', stratum: total, right: full(item) === 1 }]
  })
  if (answers.length === 0) return null
  const es = answers.filter((a) => a.focal).length
  return { ...itemFunctioning(answers), en: answers.length - es, es }
}

function driftByItem(sittings: readonly SittingRecord[], ids: readonly string[], splitOn: CivilDate) {
  const counts = new Map(
    ids.map((id) => [id, { id, before: { right: 0, people: 0 }, after: { right: 0, people: 0 } }]),
  )
  for (const s of sittings)
    for (const item of s.items) {
      if (item.kind !== 'question') continue
      const count = counts.get(item.id)![s.on < splitOn ? 'before' : 'after']
      count.people++
      count.right += full(item)
    }
  const asked = [...counts.values()].filter((c) => c.before.people > 0 && c.after.people > 0)
  const share = (c: { right: number; people: number }) => (c.people === 0 ? null : c.right / c.people)
  return new Map(
    driftOf(asked).map((drift): [string, ItemReport['drift']] => {
      const own = counts.get(drift.id)!
      return [drift.id, { ...drift, before: share(own.before), after: share(own.after) }]
    }),
  )
}
