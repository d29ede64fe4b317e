/** The shapes of assessment: questions in a bank, the design of a quiz, a drawn form, answers and a result. */
import { z } from 'zod'
import { COMPETENCIES } from '@/lib/scenarios/core/words'
import { Id, Translations } from '@/lib/scenarios/text-schema'

export type { Locale } from '@/lib/scenarios/text-schema'

export const Competency = z.enum(COMPETENCIES)
export type Competency = z.infer<typeof Competency>

/** How hard the writers expect a question to be, until answers say it better. */
export const BANDS = ['easy', 'medium', 'hard'] as const
export const Band = z.enum(BANDS)
export type Band = z.infer<typeof Band>

/** draft: not shown to anybody. trial: shown and not counted. live: shown and counted. retired: never drawn again. */
export const Lifecycle = z.enum(['draft', 'trial', 'live', 'retired'])
export type Lifecycle = z.infer<typeof Lifecycle>

/** Where the fact behind the key comes from. */
export const Source = z
  .strictObject({
    kind: z.enum(['law', 'standard', 'county-procedure', 'common-practice']),
    cite: z.string().min(1).optional(),
    url: z.url().optional(),
    /** The value was written from memory and needs to be looked up before anybody relies on it. */
    fromMemory: z.boolean().default(false),
  })
  .refine((s) => s.cite !== undefined || (s.kind !== 'law' && s.kind !== 'standard'), {
    path: ['cite'],
    message: 'a law or a standard needs its citation',
  })
export type Source = z.infer<typeof Source>

/** One language version. `options` holds a text for each option, item, area and fixture, by id. */
export const QuestionTexts = z.strictObject({
  stem: z.string().min(1),
  options: z.record(Id, z.string().min(1)).default({}),
  /** Why the right answer is right; shown after marking, where the design says so. */
  explanation: z.string().min(1),
  /** What the number counts ("ballots"); number questions only. */
  unit: z.string().min(1).optional(),
})
export type QuestionTexts = z.infer<typeof QuestionTexts>

const base = {
  id: Id,
  version: z.int().min(1).default(1),
  lifecycle: Lifecycle.default('draft'),
  competency: Competency,
  band: Band,
  /** Small subjects inside a competency, for `mustInclude`. */
  topics: z.array(Id).default([]),
  source: Source,
  /** The lesson to play when this was missed. */
  practise: Id,
  texts: z.strictObject({ en: QuestionTexts, es: QuestionTexts }),
}

/** `critical`: choosing it is a critical mistake (secrecy, steering, a lost ballot, a voter turned away, danger). */
export const Option = z.strictObject({
  id: Id,
  right: z.boolean(),
  critical: z.boolean().default(false),
})
export type Option = z.infer<typeof Option>

/** A box on a plan, in percent of its width and height from the upper left corner. */
const box = {
  x: z.number().min(0).max(100),
  y: z.number().min(0).max(100),
  width: z.number().positive().max(100),
  height: z.number().positive().max(100),
}

export const SingleQuestion = z.strictObject({
  kind: z.literal('single'),
  ...base,
  options: z.array(Option).min(2).max(6),
})
export const SeveralQuestion = z.strictObject({
  kind: z.literal('several'),
  ...base,
  options: z.array(Option).min(3).max(8),
})
export const OrderQuestion = z.strictObject({
  kind: z.literal('order'),
  ...base,
  /** In the right order. Items of the same `rank` may stand either way round. */
  items: z
    .array(z.strictObject({ id: Id, rank: z.int().min(1).optional() }))
    .min(3)
    .max(8),
  /** Pairs that must not be swapped: doing so is a critical mistake. */
  critical: z.array(z.strictObject({ before: Id, after: Id })).default([]),
})
export const NumberQuestion = z.strictObject({
  kind: z.literal('number'),
  ...base,
  answer: z.number(),
  /** Answers this far off still count as right. */
  tolerance: z.number().nonnegative().default(0),
})
/** Find the right places on a plan of the room. Every area has its name in words, so that the plan is never needed. */
export const PictureAreasQuestion = z.strictObject({
  kind: z.literal('picture-areas'),
  ...base,
  /** Drawn and named, and not to be chosen: a door, a table. */
  fixtures: z.array(z.strictObject({ id: Id, ...box })).default([]),
  areas: z
    .array(z.strictObject({ ...Option.shape, ...box }))
    .min(2)
    .max(10),
})

const textIds = (q: z.infer<typeof AnyQuestion>): string[] => {
  switch (q.kind) {
    case 'single':
    case 'several':
      return q.options.map((o) => o.id)
    case 'order':
      return q.items.map((i) => i.id)
    case 'number':
      return []
    case 'picture-areas':
      return [...q.fixtures, ...q.areas].map((a) => a.id)
  }
}

const AnyQuestion = z.discriminatedUnion('kind', [
  SingleQuestion,
  SeveralQuestion,
  OrderQuestion,
  NumberQuestion,
  PictureAreasQuestion,
])

/** A question with everything that belongs to it. Refused: a single choice without exactly one right option, a missing
 *  or left-over text in either language, an id used twice, a right option marked critical. */
export const Question = AnyQuestion.superRefine((q, context) => {
  const wrong = (path: (string | number)[], message: string) =>
    context.addIssue({ code: 'custom', path, message })
  const ids = textIds(q)
  if (new Set(ids).size !== ids.length) wrong(['options'], 'an id is used twice')
  const choices = q.kind === 'picture-areas' ? q.areas : 'options' in q ? q.options : []
  const right = choices.filter((o) => o.right).length
  if (q.kind === 'single' && right !== 1) wrong(['options'], 'a single choice has exactly one right option')
  if ((q.kind === 'several' || q.kind === 'picture-areas') && (right === 0 || right === choices.length))
    wrong(['options'], 'there must be right and wrong options')
  if (choices.some((o) => o.right && o.critical))
    wrong(['options'], 'a right option is not a critical mistake')
  if (q.kind === 'order')
    for (const pair of q.critical)
      if (!ids.includes(pair.before) || !ids.includes(pair.after))
        wrong(['critical'], 'names an item that is not there')
  for (const locale of ['en', 'es'] as const) {
    const texts = q.texts[locale].options
    for (const id of ids) if (texts[id] === undefined) wrong(['texts', locale, 'options', id], 'has no text')
    for (const id of Object.keys(texts))
      if (!ids.includes(id)) wrong(['texts', locale, 'options', id], 'is a text that nothing uses')
    if (q.kind === 'number' && q.texts[locale].unit === undefined)
      wrong(['texts', locale, 'unit'], 'a number needs its unit')
  }
})
export type Question = z.infer<typeof Question>
export type QuestionOf<K extends Question['kind']> = Extract<Question, { kind: K }>

/** A file of the bank: content/questions/<id>.json. */
export const QuestionFile = z.strictObject({ id: Id, questions: z.array(Question).min(1) })
export type QuestionFile = z.infer<typeof QuestionFile>

/** Question id → question. */
export type Bank = ReadonlyMap<string, Question>

export const Cell = z.strictObject({
  competency: Competency,
  /** Any band when absent. */
  band: Band.optional(),
  count: z.int().min(1).max(60),
})
export type Cell = z.infer<typeof Cell>

/** A lesson played as part of the quiz; its fraction is marked by the scenarios' own replay and handed to marking. */
export const ScenarioSlot = z.strictObject({
  key: Id,
  competency: Competency,
  /** Counts like so many questions. */
  weight: z.number().positive().max(20).default(1),
})
export type ScenarioSlot = z.infer<typeof ScenarioSlot>

const fraction = z.number().min(0).max(1)

export const QuizDesign = z
  .strictObject({
    id: Id,
    version: z.int().min(1).default(1),
    names: Translations,
    /** Time limit; a person's own multiplier (1 = none) is applied by `minutesFor`. */
    minutes: z.int().min(1).max(300),
    blueprint: z.strictObject({
      cells: z.array(Cell).min(1),
      /** At least `count` of the drawn questions have this topic. */
      mustInclude: z.array(z.strictObject({ topic: Id, count: z.int().min(1).default(1) })).default([]),
      /** Questions in trial that are shown and not counted. Fewer are shown where the bank has fewer. */
      trialItems: z.int().min(0).max(20).default(0),
    }),
    scenarios: z.array(ScenarioSlot).default([]),
    /** Largest distance of a form's expected score from the design's own, as a fraction of the questions' points. */
    expectedTolerance: fraction.default(0.03),
    passing: z.strictObject({
      /** Share of the points; from a standard-setting panel or, until there is one, common practice. */
      cutFraction: fraction,
      /** Protected competencies: at least this share of their own points. */
      floors: z.array(z.strictObject({ competency: Competency, fraction })).default([]),
      criticalMistakesAllowed: z.int().min(0).default(0),
    }),
    retake: z.strictObject({
      /** Whole days from a failed attempt to the next one (civil dates; 0 = the same day). */
      waitDays: z.int().nonnegative().default(0),
      /** Failed attempts before a trainer has to step in; `null` = no limit. */
      maxAttempts: z.int().min(1).nullable().default(null),
      /** Largest share of a form's questions that it may have in common with any one earlier form. */
      overlapAtMost: fraction.default(0.5),
    }),
    /** What the result page shows. */
    shown: z
      .strictObject({
        score: z.boolean().default(true),
        explanations: z.enum(['misses', 'all', 'none']).default('misses'),
      })
      .default({ score: true, explanations: 'misses' }),
  })
  .superRefine((design, context) => {
    const names = design.blueprint.cells.map((c) => `${c.competency}/${c.band ?? '*'}`)
    design.blueprint.cells.forEach((cell, i) => {
      const overlaps = names.some(
        (n, j) =>
          j !== i &&
          n.startsWith(`${cell.competency}/`) &&
          (n === names[i] || n.endsWith('*') || cell.band === undefined),
      )
      if (overlaps)
        context.addIssue({
          code: 'custom',
          path: ['blueprint', 'cells', i],
          message: 'shares questions with another cell: cells must be apart',
        })
    })
  })
export type QuizDesign = z.infer<typeof QuizDesign>

/** What one person was given. Everything needed to show it again; the key stays in the bank. */
export const Form = z.strictObject({
  designId: Id,
  designVersion: z.int().min(1),
  seed: z.int(),
  /** In the order in which they are shown; questions in trial are among them. */
  questionIds: z.array(Id),
  /** Those of them that are not counted. */
  trialIds: z.array(Id),
  /** Keys of the scenarios that belong to it. */
  scenarioKeys: z.array(Id),
  /** Expected share of the counted questions' points when the form was drawn. */
  expectedFraction: fraction,
})
export type Form = z.infer<typeof Form>

export const Answer = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('single'), option: Id }),
  z.strictObject({ kind: z.literal('several'), options: z.array(Id).max(20) }),
  z.strictObject({ kind: z.literal('order'), items: z.array(Id).max(20) }),
  z.strictObject({ kind: z.literal('number'), value: z.number() }),
  z.strictObject({ kind: z.literal('picture-areas'), areas: z.array(Id).max(20) }),
])
export type Answer = z.infer<typeof Answer>
/** Question id → answer. What is missing was left blank. */
export type Answers = Readonly<Record<string, Answer>>

/** How a scenario of the form went. */
export const ScenarioScore = z.strictObject({ fraction, critical: z.boolean() })
export type ScenarioScore = z.infer<typeof ScenarioScore>

export const CompetencyResult = z.strictObject({
  competency: Competency,
  earned: z.number(),
  possible: z.number(),
  fraction,
  /** The floor where the competency is protected. */
  floor: fraction.nullable(),
  met: z.boolean(),
})
export type CompetencyResult = z.infer<typeof CompetencyResult>

export const Miss = z.strictObject({
  questionId: Id,
  competency: Competency,
  /** Share of its point that was earned, less than 1. */
  fraction,
  answered: z.boolean(),
  explanation: Translations,
  /** Lesson to practise. */
  practise: Id,
})
export type Miss = z.infer<typeof Miss>

export const Result = z.strictObject({
  scoreFraction: fraction,
  cutFraction: fraction,
  passed: z.boolean(),
  /** Why not; empty exactly when passed. */
  reasons: z.array(z.enum(['below-cut', 'below-floor', 'critical-mistake'])),
  competencies: z.array(CompetencyResult),
  /** Question id or scenario key, and which option where there is one. */
  criticalMistakes: z.array(z.strictObject({ in: Id, option: Id.nullable() })),
  misses: z.array(Miss),
  /** Lessons to practise, the most missed first, each once. */
  practise: z.array(Id),
  /** Every question and scenario. `fraction` of its points; trial questions have `counted` false. */
  items: z.array(z.strictObject({ id: Id, fraction, weight: z.number(), counted: z.boolean() })),
})
export type Result = z.infer<typeof Result>
