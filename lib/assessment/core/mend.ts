import { z } from 'zod'
import type { Answers, Form, Question, Result, ScenarioScore } from '../schema'
import { markForm } from './mark'
import { bankOf, type SittingDefinition } from './sitting'

/** How a faulty question is put right for everybody who had it. The last two are for single choices. */
export const Mend = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('leave-out') }),
  z.strictObject({ kind: z.literal('also-right'), option: z.string() }),
  z.strictObject({ kind: z.literal('right-is'), option: z.string() }),
])
export type Mend = z.infer<typeof Mend>

export interface MendedQuestion {
  questionId: string
  questionVersion: number
  mend: Mend
}

/** The mends that a question can have. */
export function mendsFor(question: Question): Mend[] {
  const out: Mend[] = [{ kind: 'leave-out' }]
  if (question.kind === 'single')
    for (const { id, right } of question.options)
      if (!right) out.push({ kind: 'also-right', option: id }, { kind: 'right-is', option: id })
  return out
}

function mendedQuestion(question: Question, mend: Mend): Question {
  if (question.kind !== 'single' || mend.kind === 'leave-out') return question
  return {
    ...question,
    options: question.options.map((option) => {
      if (option.id === mend.option) return { ...option, right: true, critical: false }
      return mend.kind === 'right-is' ? { ...option, right: false } : option
    }),
  }
}

/** A definition and form as they count after the mends. A question that is left out stays on the form, uncounted, like
 *  one on trial. Mends of another version of a question do nothing. */
export function withMends(
  definition: SittingDefinition,
  form: Form,
  mends: readonly MendedQuestion[],
): { definition: SittingDefinition; form: Form } {
  const own = new Map(
    mends.flatMap((m) => {
      const question = definition.questions.find((q) => q.id === m.questionId)
      return question?.version === m.questionVersion && form.questionIds.includes(m.questionId)
        ? [[m.questionId, m.mend] as const]
        : []
    }),
  )
  if (own.size === 0) return { definition, form }
  const leftOut = [...own].flatMap(([id, mend]) => (mend.kind === 'leave-out' ? [id] : []))
  return {
    definition: {
      ...definition,
      questions: definition.questions.map((q) => (own.has(q.id) ? mendedQuestion(q, own.get(q.id)!) : q)),
    },
    form: { ...form, trialIds: [...new Set([...form.trialIds, ...leftOut])] },
  }
}

/** Marks a sitting again after mends. Stories keep what their replay gave. */
export function remark(
  definition: SittingDefinition,
  form: Form,
  answers: Answers,
  before: Result,
  mends: readonly MendedQuestion[],
): Result {
  const mended = withMends(definition, form, mends)
  const scores = Object.fromEntries(
    form.scenarioKeys.map((key): [string, ScenarioScore] => [
      key,
      {
        fraction: before.items.find((item) => item.id === key)?.fraction ?? 0,
        critical: before.criticalMistakes.some((mistake) => mistake.in === key),
      },
    ]),
  )
  return markForm(mended.form, bankOf(mended.definition), answers, definition.design, scores)
}
