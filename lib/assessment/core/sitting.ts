/** Sitting a quiz: what an attempt keeps, its log of events, and what follows from them. Pure: the same definition,
 *  form and log give the same answers and result on any machine. */
import { replay } from '@/lib/scenarios/core/replay'
import type { EquipmentProfile, PlayEvent, Scenario } from '@/lib/scenarios/schema'
import type { Answer, Answers, Bank, Form, Question, QuizDesign, Result, ScenarioScore } from '../schema'
import { markForm } from './mark'

/** Everything that showing and marking need, as it was when the attempt began. Shared by all who began on it. */
export interface SittingDefinition {
  design: QuizDesign
  questions: Question[]
  stories: { scenario: Scenario; profile: EquipmentProfile }[]
}

/** One event of a sitting. `answer: null` takes an answer back; the last one for a question counts. */
export type QuizEvent =
  | { type: 'answer'; question: string; answer: Answer | null }
  | { type: 'play'; scenario: string; event: PlayEvent }

export type SittingItem =
  | { kind: 'question'; id: string; question: Question }
  | { kind: 'story'; id: string; scenario: Scenario; profile: EquipmentProfile }

export const bankOf = (definition: SittingDefinition): Bank =>
  new Map(definition.questions.map((question) => [question.id, question]))

/** The pages of a form, in their order: its questions, then its stories. @throws RangeError where the definition lacks
 *  one of them. */
export function itemsOf(definition: SittingDefinition, form: Form): SittingItem[] {
  const bank = bankOf(definition)
  return [
    ...form.questionIds.map((id): SittingItem => {
      const question = bank.get(id)
      if (!question) throw new RangeError(`the definition lacks the question ${id}`)
      return { kind: 'question', id, question }
    }),
    ...form.scenarioKeys.map((id): SittingItem => {
      const story = definition.stories.find((s) => s.scenario.id === id)
      if (!story) throw new RangeError(`the definition lacks the story ${id}`)
      return { kind: 'story', id, ...story }
    }),
  ]
}

/** The last answer to each question. O(events). */
export function answersIn(log: readonly QuizEvent[]): Answers {
  const answers: Record<string, Answer> = {}
  for (const event of log) {
    if (event.type !== 'answer') continue
    if (event.answer === null) delete answers[event.question]
    else answers[event.question] = event.answer
  }
  return answers
}

/** What was played of one story. */
export const playedIn = (log: readonly QuizEvent[], scenario: string): PlayEvent[] =>
  log.flatMap((event) => (event.type === 'play' && event.scenario === scenario ? [event.event] : []))

/** Marks a sitting by replaying its log. A story that didn't reach its end earns nothing; what was critical in it
 *  counts all the same. */
export function markSitting(definition: SittingDefinition, form: Form, log: readonly QuizEvent[]): Result {
  const scores: Record<string, ScenarioScore> = {}
  for (const { scenario, profile } of definition.stories) {
    if (!form.scenarioKeys.includes(scenario.id)) continue
    const outcome = replay(scenario, profile, playedIn(log, scenario.id))
    scores[scenario.id] = {
      fraction: outcome.finished ? outcome.scoreFraction : 0,
      critical: outcome.critical > 0,
    }
  }
  return markForm(form, bankOf(definition), answersIn(log), definition.design, scores)
}

/** What a form's fields say about one question: its answer, null where it was left empty, undefined where the fields
 *  don't belong to the question (nothing is kept then). */
export function answerFrom(
  question: Question,
  fields: { chosen: readonly string[]; order: readonly string[]; number?: string | undefined },
): Answer | null | undefined {
  const among = (ids: readonly string[], of: readonly { id: string }[]) =>
    new Set(ids).size === ids.length && ids.every((id) => of.some((o) => o.id === id))
  const chosen = [...fields.chosen].sort()
  switch (question.kind) {
    case 'single':
      if (chosen.length === 0) return null
      return chosen.length === 1 && among(chosen, question.options)
        ? { kind: 'single', option: chosen[0]! }
        : undefined
    case 'several':
      if (chosen.length === 0) return null
      return among(chosen, question.options) ? { kind: 'several', options: chosen } : undefined
    case 'picture-areas':
      if (chosen.length === 0) return null
      return among(chosen, question.areas) ? { kind: 'picture-areas', areas: chosen } : undefined
    case 'order':
      if (fields.order.length === 0) return null
      return among(fields.order, question.items) ? { kind: 'order', items: [...fields.order] } : undefined
    case 'number': {
      const text = (fields.number ?? '').replace(/[\s,_]/g, '')
      if (text === '') return null
      return /^-?\d{1,9}(\.\d{1,6})?$/.test(text) ? { kind: 'number', value: Number(text) } : undefined
    }
  }
}

/** Answered so far that marking takes it: an order needs all its items. */
export function isAnswered(question: Question, answer: Answer | undefined): boolean {
  if (!answer) return false
  return (
    question.kind !== 'order' || (answer.kind === 'order' && answer.items.length === question.items.length)
  )
}

/** The texts of an answer, in the order given. */
export function answerTexts(question: Question, answer: Answer | undefined, locale: 'en' | 'es'): string[] {
  if (!answer) return []
  const { options, unit } = question.texts[locale]
  const text = (id: string) => options[id] ?? id
  switch (answer.kind) {
    case 'single':
      return [text(answer.option)]
    case 'several':
      return answer.options.map(text)
    case 'order':
      return answer.items.map((id, i) => `${i + 1}. ${text(id)}`)
    case 'number':
      return [`${answer.value} ${unit ?? ''}`.trim()]
    case 'picture-areas':
      return answer.areas.map(text)
  }
}

/** The right answer in words. Only for after marking. */
export function rightTexts(question: Question, locale: 'en' | 'es'): string[] {
  const right = (list: readonly { id: string; right: boolean }[]) =>
    list.filter((o) => o.right).map((o) => o.id)
  switch (question.kind) {
    case 'single':
      // Two where a mend made another one right too.
      return right(question.options).map((id) => question.texts[locale].options[id] ?? id)
    case 'several':
      return answerTexts(question, { kind: 'several', options: right(question.options) }, locale)
    case 'order':
      return answerTexts(question, { kind: 'order', items: question.items.map((i) => i.id) }, locale)
    case 'number':
      return answerTexts(question, { kind: 'number', value: question.answer }, locale)
    case 'picture-areas':
      return answerTexts(question, { kind: 'picture-areas', areas: right(question.areas) }, locale)
  }
}
