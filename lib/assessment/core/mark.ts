import { invariant } from '@/lib/kernel/errors'
import { COMPETENCIES } from '@/lib/scenarios/core/words'
import type {
  Answers,
  Bank,
  Competency,
  CompetencyResult,
  Form,
  Miss,
  QuizDesign,
  Result,
  ScenarioScore,
} from '../schema'
import { markQuestion } from './mark-question'

/** Sums of fractions such as 1/3 differ in the last bit by their order; a pass mark must not hang on that. */
const reaches = (value: number, mark: number) => value >= mark - 1e-9

/** Marks a form. Each counted question is worth one point, each scenario its weight; a scenario without a score counts
 *  as not played (0). Passed: the total reaches the cut, each protected competency that the form asks about reaches its
 *  floor, and there are no more critical mistakes than allowed (those in questions on trial don't count). Answers to
 *  questions that are not on the form are ignored; the order of answers doesn't matter. O(questions).
 *  @throws (broken invariant) where the form names a question that the bank doesn't have, or has nothing to count. */
export function markForm(
  form: Form,
  bank: Bank,
  answers: Answers,
  design: QuizDesign,
  scenarioScores: Readonly<Record<string, ScenarioScore>> = {},
): Result {
  const trial = new Set(form.trialIds)
  const points = new Map<Competency, { earned: number; possible: number }>()
  const add = (competency: Competency, earned: number, possible: number) => {
    const sum = points.get(competency) ?? { earned: 0, possible: 0 }
    points.set(competency, { earned: sum.earned + earned, possible: sum.possible + possible })
  }
  const items: Result['items'] = []
  const misses: Miss[] = []
  const criticalMistakes: Result['criticalMistakes'] = []
  const missed = new Map<string, number>()

  for (const id of form.questionIds) {
    const question = bank.get(id)
    invariant(question, `the form's question ${id} is in the bank`)
    const given = Object.hasOwn(answers, id) ? answers[id] : undefined
    const mark = markQuestion(question, given)
    const counted = !trial.has(id)
    items.push({ id, fraction: mark.fraction, weight: counted ? 1 : 0, counted })
    if (!counted) continue
    add(question.competency, mark.fraction, 1)
    for (const option of mark.critical) criticalMistakes.push({ in: id, option })
    if (mark.fraction < 1) {
      misses.push({
        questionId: id,
        competency: question.competency,
        fraction: mark.fraction,
        answered: mark.answered,
        explanation: { en: question.texts.en.explanation, es: question.texts.es.explanation },
        practise: question.practise,
      })
      missed.set(question.practise, (missed.get(question.practise) ?? 0) + 1 - mark.fraction)
    }
  }
  for (const key of form.scenarioKeys) {
    const slot = design.scenarios.find((s) => s.key === key)
    invariant(slot, `the form's scenario ${key} is in the design`)
    const score = Object.hasOwn(scenarioScores, key) ? scenarioScores[key]! : { fraction: 0, critical: false }
    items.push({ id: key, fraction: score.fraction, weight: slot.weight, counted: true })
    add(slot.competency, score.fraction * slot.weight, slot.weight)
    if (score.critical) criticalMistakes.push({ in: key, option: null })
    if (score.fraction < 1) missed.set(key, (missed.get(key) ?? 0) + (1 - score.fraction) * slot.weight)
  }

  const competencies = COMPETENCIES.flatMap((competency): CompetencyResult[] => {
    const sum = points.get(competency)
    if (!sum) return []
    const fraction = sum.earned / sum.possible
    const floor = design.passing.floors.find((f) => f.competency === competency)?.fraction ?? null
    return [{ competency, ...sum, fraction, floor, met: floor === null || reaches(fraction, floor) }]
  })
  const possible = competencies.reduce((sum, c) => sum + c.possible, 0)
  invariant(possible > 0, 'a form has something to count')
  const scoreFraction = Math.min(1, competencies.reduce((sum, c) => sum + c.earned, 0) / possible)

  const reasons: Result['reasons'] = []
  if (!reaches(scoreFraction, design.passing.cutFraction)) reasons.push('below-cut')
  if (competencies.some((c) => !c.met)) reasons.push('below-floor')
  if (criticalMistakes.length > design.passing.criticalMistakesAllowed) reasons.push('critical-mistake')
  return {
    scoreFraction,
    cutFraction: design.passing.cutFraction,
    passed: reasons.length === 0,
    reasons,
    competencies,
    criticalMistakes,
    misses,
    practise: [...missed].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1)).map(([lesson]) => lesson),
    items,
  }
}

/** The time limit in minutes for a person whose accommodation multiplies it (1 = none, 1.5 = half as long again).
 *  Rounded up to whole minutes. @throws RangeError where the multiplier is below 1. */
export function minutesFor(design: Pick<QuizDesign, 'minutes'>, multiplier = 1): number {
  if (!(multiplier >= 1)) throw new RangeError('a time multiplier is at least 1')
  return Math.ceil(design.minutes * multiplier - 1e-9)
}
