/** A small bank and design of the tests' own, so that shipped content may change without touching them. */
import { type Question, Question as QuestionSchema, QuizDesign } from '@/lib/assessment/schema'

const texts = (stem: string, options: Record<string, string>, unit?: string) => {
  const own = { stem, options, explanation: `KEY-EXPLANATION ${stem}`, ...(unit ? { unit } : {}) }
  return { en: own, es: { ...own, stem: `ES ${stem}` } }
}
const common = {
  lifecycle: 'live' as const,
  band: 'easy' as const,
  source: { kind: 'common-practice' as const, cite: 'KEY-SOURCE' },
  practise: 'card-returned',
}

const single = (id: string): unknown => ({
  kind: 'single',
  id,
  competency: 'check-in',
  ...common,
  options: [
    { id: 'good', right: true },
    { id: 'poor', right: false },
    { id: 'harm', right: false, critical: true },
  ],
  texts: texts(`Stem ${id}`, { good: 'Ask first', poor: 'Do nothing', harm: 'Read the ballot' }),
})
const number = (id: string): unknown => ({
  kind: 'number',
  id,
  competency: 'accounting',
  ...common,
  answer: 47,
  texts: texts(`Stem ${id}`, {}, 'ballots'),
})
const order = (id: string): unknown => ({
  kind: 'order',
  id,
  competency: 'order-and-safety',
  ...common,
  items: [{ id: 'one' }, { id: 'two' }, { id: 'three' }],
  texts: texts(`Stem ${id}`, { one: 'Stop', two: 'Look', three: 'Call' }),
})

const questions: Question[] = ['a', 'b', 'c'].flatMap((x) =>
  [single(`s-${x}`), number(`n-${x}`), order(`o-${x}`)].map((q) => QuestionSchema.parse(q)),
)
export const SMALL_BANK = new Map(questions.map((q) => [q.id, q]))

/** Three questions of one point each and a story of two points; 70 % to pass, so 3.5 of 5 points. */
export const SMALL_DESIGN = QuizDesign.parse({
  id: 'small',
  names: { en: 'Small', es: 'Pequeño' },
  minutes: 20,
  blueprint: {
    cells: [
      { competency: 'check-in', count: 1 },
      { competency: 'accounting', count: 1 },
      { competency: 'order-and-safety', count: 1 },
    ],
  },
  scenarios: [{ key: 'card-returned', competency: 'card-handling', weight: 2 }],
  passing: { cutFraction: 0.7 },
  retake: { waitDays: 1, maxAttempts: 2, overlapAtMost: 0 },
})

/** The same with questions on the story's subject, which a form on paper asks instead. */
export const PAPER_BANK = new Map([
  ...SMALL_BANK,
  ...['w', 'x', 'y', 'z'].map((x) => {
    const q = QuestionSchema.parse({ ...(single(`c-${x}`) as object), competency: 'card-handling' })
    return [q.id, q] as const
  }),
])

/** Without the story: a single choice, a number and an order; any number of tries. */
export const ONE_OF_THREE = QuizDesign.parse({
  ...SMALL_DESIGN,
  scenarios: [],
  retake: { waitDays: 0, maxAttempts: null, overlapAtMost: 1 },
})
