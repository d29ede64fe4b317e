/** `npm run bench -- assessment`: the statistics of 20,000 people × 60 questions, marking, and 5,000 parallel forms. Each
 *  beside a reference measured in the same run. Prints time, memory and what came out. */
import { findQuizDesign, loadBank } from '@/lib/assessment/content'
import { testStatistics } from '@/lib/assessment/core/classical'
import { decisionConsistency } from '@/lib/assessment/core/decision-consistency'
import { differentialFunctioning } from '@/lib/assessment/core/differential-functioning'
import { drawForm, EXPECTED_BY_BAND, inCell } from '@/lib/assessment/core/draw'
import { exposureOf } from '@/lib/assessment/core/exposure'
import { chanceRight, fitLatentModel } from '@/lib/assessment/core/latent-model'
import type { Responses } from '@/lib/assessment/core/responses'
import { markSitting, type QuizEvent, type SittingDefinition } from '@/lib/assessment/core/sitting'
import { type Answer, BANDS, Question, QuizDesign } from '@/lib/assessment/schema'
import { invariant } from '@/lib/kernel/errors'
import { type Random, seededRandom, seedOf } from '@/lib/kernel/random'
import { findScenario, profilesFor } from '@/lib/scenarios/content'
import { randomPath } from '@/lib/scenarios/core/random-path'

const PEOPLE = 20_000
const ITEMS = 60
const SITTINGS = 10_000
const FORMS = 5_000

const normal = (r: Random) => Math.sqrt(-2 * Math.log(1 - r.next())) * Math.cos(2 * Math.PI * r.next())
const megabytes = () => process.memoryUsage().rss / 2 ** 20

function timed<T>(work: () => T): { result: T; seconds: number; megabytes: number } {
  globalThis.gc?.()
  const before = megabytes()
  const start = performance.now()
  const result = work()
  return { result, seconds: (performance.now() - start) / 1000, megabytes: Math.max(0, megabytes() - before) }
}

// --- Statistics -------------------------------------------------------------------------------------------------------

const random = seededRandom(seedOf('bench assessment'))
const truth = Array.from({ length: ITEMS }, () => normal(random) - 0.8)
const marks = new Float64Array(PEOPLE * ITEMS)
for (let person = 0; person < PEOPLE; person++) {
  const ability = normal(random)
  for (let i = 0; i < ITEMS; i++)
    marks[person * ITEMS + i] = random.next() < chanceRight(ability, truth[i]!) ? 1 : 0
}
const part = (from: number, rows: number): Responses => ({
  items: ITEMS,
  rows,
  people: rows,
  marks: marks.subarray(from * ITEMS, (from + rows) * ITEMS),
  counts: new Float64Array(rows).fill(1),
})
const all = part(0, PEOPLE)

function scoresOf(r: Responses): number[] {
  return Array.from({ length: r.rows }, (_, row) => {
    let sum = 0
    for (let i = 0; i < r.items; i++) sum += r.marks[row * r.items + i]!
    return sum
  })
}
scoresOf(all)
testStatistics(part(0, 500))
const pass = timed(() => scoresOf(all))
const classical = timed(() => testStatistics(all))
const consistency = timed(() => decisionConsistency(pass.result, ITEMS, 42, classical.result.kr20!))
const functioning = timed(() => differentialFunctioning(part(0, PEOPLE / 2), part(PEOPLE / 2, PEOPLE / 2)))
const rasch = timed(() => fitLatentModel(all, 'rasch', { errors: true }))
const twoParameter = timed(() => fitLatentModel(all, 'two-parameter'))
console.log(
  `\n${PEOPLE.toLocaleString('en-US')} people × ${ITEMS} questions, ${(PEOPLE * ITEMS) / 1e6} million marks`,
)
const line = (what: string, t: { seconds: number; megabytes: number }) => ({
  what,
  seconds: t.seconds.toFixed(3),
  'times the reference': (t.seconds / pass.seconds).toFixed(0),
  'more resident MB': t.megabytes.toFixed(0),
})
console.table([
  line('reference: add up each person’s marks', pass),
  line('p, point-biserials, KR-20, standard error', classical),
  line('decision consistency (Subkoviak)', consistency),
  line('differential functioning, 2 × 10,000', functioning),
  line(`Rasch with standard errors, ${rasch.result.iterations} steps`, rasch),
  line(`two-parameter, ${twoParameter.result.iterations} steps`, twoParameter),
])
const z = truth.map((b, i) => (rasch.result.difficulties[i]! - b) / rasch.result.difficultyErrors![i]!)
const within = z.filter((v) => Math.abs(v) < 1.96).length
console.log(
  `KR-20 ${classical.result.kr20!.toFixed(3)}; ${within} of ${ITEMS} true Rasch difficulties within 1.96 standard errors ` +
    `(57 expected); class C between two halves of the same people: ${functioning.result.items.filter((i) => i.size === 'C').length} (0 expected)`,
)

// --- Marking ----------------------------------------------------------------------------------------------------------

const design = findQuizDesign('polls-basics')
invariant(design, 'the shipped design is there')
const bank = loadBank()

function anyAnswer(q: Question, r: Random): Answer {
  switch (q.kind) {
    case 'single':
      return { kind: 'single', option: r.pick(q.options).id }
    case 'several':
      return { kind: 'several', options: q.options.filter(() => r.next() < 0.5).map((o) => o.id) }
    case 'order':
      return { kind: 'order', items: r.shuffle(q.items).map((i) => i.id) }
    case 'number':
      return { kind: 'number', value: r.next() < 0.5 ? q.answer : q.answer + 1 }
    case 'picture-areas':
      return { kind: 'picture-areas', areas: q.areas.filter(() => r.next() < 0.5).map((a) => a.id) }
  }
}
const sittings = Array.from({ length: 200 }, (_, i) => {
  const drawn = drawForm({ design, bank, seed: i })
  invariant(drawn.status === 'drawn', 'the shipped bank fills the shipped design')
  const r = seededRandom(i)
  const stories = drawn.form.scenarioKeys.map((key) => {
    const { scenario } = findScenario(key)!
    return { scenario, profile: profilesFor(scenario)[0]! }
  })
  const definition: SittingDefinition = {
    design,
    questions: drawn.form.questionIds.map((id) => bank.get(id)!),
    stories,
  }
  const log: QuizEvent[] = [
    ...definition.questions.map(
      (q): QuizEvent => ({ type: 'answer', question: q.id, answer: anyAnswer(q, r) }),
    ),
    ...stories.flatMap(({ scenario, profile }) =>
      randomPath(scenario, profile, r).map(
        (event): QuizEvent => ({ type: 'play', scenario: scenario.id, event }),
      ),
    ),
  ]
  return { definition, form: drawn.form, log: JSON.stringify(log) }
})
const each = (work: (s: (typeof sittings)[number]) => void) => () => {
  for (let i = 0; i < SITTINGS; i++) work(sittings[i % sittings.length]!)
}
for (const s of sittings) markSitting(s.definition, s.form, JSON.parse(s.log) as QuizEvent[])
const parsing = timed(each(({ log }) => JSON.parse(log)))
const marking = timed(
  each(({ definition, form, log }) => markSitting(definition, form, JSON.parse(log) as QuizEvent[])),
)
console.log(
  `\nMarking ${SITTINGS.toLocaleString('en-US')} sittings of “${design.id}” (8 questions and a story) from their logs`,
)
console.table(
  [
    { what: 'reference: parse the log only', ...parsing },
    { what: 'parse, replay the story, mark', ...marking },
  ].map(({ what, seconds }) => ({
    what,
    seconds: seconds.toFixed(2),
    'sittings a second': Math.round(SITTINGS / seconds).toLocaleString('en-US'),
    'times the reference': (seconds / parsing.seconds).toFixed(1),
  })),
)

// --- Drawing ----------------------------------------------------------------------------------------------------------

/** 180 questions over six competencies and three bands, each with a p of its own, and a quiz of 30. */
const competencies = [
  'check-in',
  'right-ballot',
  'card-handling',
  'accounting',
  'access-setup',
  'order-and-safety',
]
const text = { stem: 's', options: { a: 'a', b: 'b' }, explanation: 'e' }
const wide = new Map(
  competencies
    .flatMap((competency) =>
      BANDS.flatMap((band) => Array.from({ length: 10 }, (_, i) => ({ competency, band, i }))),
    )
    .map(({ competency, band, i }) =>
      Question.parse({
        kind: 'single',
        id: `${competency}-${band}-${i}`,
        lifecycle: 'live',
        competency,
        band,
        topics: i === 0 ? ['must'] : [],
        source: { kind: 'common-practice' },
        practise: 'card-returned',
        options: [
          { id: 'a', right: true },
          { id: 'b', right: false },
        ],
        texts: { en: text, es: text },
      }),
    )
    .map((q) => [q.id, q] as const),
)
const expected = new Map(
  [...wide.values()].map((q) => [q.id, EXPECTED_BY_BAND[q.band] + 0.16 * (random.next() - 0.5)]),
)
const wideDesign = QuizDesign.parse({
  id: 'wide',
  names: { en: 'w', es: 'w' },
  minutes: 40,
  blueprint: {
    cells: competencies.flatMap((competency) => [
      { competency, band: 'easy', count: 2 },
      { competency, band: 'medium', count: 2 },
      { competency, band: 'hard', count: 1 },
    ]),
    mustInclude: [{ topic: 'must' }],
  },
  passing: { cutFraction: 0.7 },
  expectedTolerance: 0.005,
  retake: { overlapAtMost: 0.3 },
})

interface Drawn {
  ids: string[]
  expected: number
}
/** Three forms a person; exposure over the last thousand forms, as the product counts it. */
function drawAll(
  draw: (seed: number, earlier: string[][], exposure: Map<string, number>) => string[],
): Drawn[] {
  const exposure = new Map<string, number>()
  const forms: Drawn[] = []
  let earlier: string[][] = []
  for (let i = 0; i < FORMS; i++) {
    if (i % 3 === 0) earlier = []
    const ids = draw(i, earlier, exposure)
    earlier.push(ids)
    forms.push({ ids, expected: ids.reduce((s, id) => s + expected.get(id)!, 0) / ids.length })
    for (const id of ids) exposure.set(id, (exposure.get(id) ?? 0) + 1)
    for (const id of forms[i - 1000]?.ids ?? []) exposure.set(id, exposure.get(id)! - 1)
  }
  return forms
}
const blind = timed(() =>
  drawAll((seed) => {
    const r = seededRandom(seed)
    return wideDesign.blueprint.cells.flatMap((cell) =>
      r
        .shuffle([...wide.values()].filter((q) => inCell(cell, q)))
        .slice(0, cell.count)
        .map((q) => q.id),
    )
  }),
)
const balanced = timed(() =>
  drawAll((seed, earlierForms, exposure) => {
    const drawn = drawForm({
      design: wideDesign,
      bank: wide,
      seed,
      earlierForms,
      exposure,
      expectedFractions: expected,
    })
    invariant(drawn.status === 'drawn', `form ${seed} is drawn`)
    return drawn.questionIds
  }),
)
function formsLine(what: string, { result, seconds }: { result: Drawn[]; seconds: number }) {
  const report = exposureOf(
    result.map((f) => f.ids),
    [...wide.keys()],
  )
  const scores = result.map((f) => f.expected)
  let own = 0
  for (let i = 1; i < result.length; i++)
    if (i % 3 !== 0)
      own = Math.max(own, result[i]!.ids.filter((id) => result[i - 1]!.ids.includes(id)).length / 30)
  const percent = (x: number) => `${(100 * x).toFixed(1)} %`
  return {
    what,
    'forms a second': Math.round(FORMS / seconds),
    'shown least, most': `${percent(report.lowest)}, ${percent(report.highest)}`,
    'mean overlap of two forms': percent(report.meanOverlap!),
    'most overlap with one’s last form': percent(own),
    'largest difference of expected score': percent(Math.max(...scores) - Math.min(...scores)),
  }
}
console.log(
  `\n${FORMS.toLocaleString('en-US')} forms of 30 from 180 questions in 18 cells; tolerance ±0.5 %, overlap with one’s own earlier forms at most 30 %`,
)
console.table([formsLine('reference: blind draw from each cell', blind), formsLine('drawForm', balanced)])
console.log(
  'Even exposure: easy and medium cells 20 %, hard cells 10 %. Least overlap possible with even exposure: 18 %.',
)
