import { markOrder, markSpot } from '@/lib/scenarios/core/points'
import type { Answer, Question } from '../schema'

export interface QuestionMark {
  /** Share of the question's one point. */
  fraction: number
  answered: boolean
  /** Critical mistakes in it: the option chosen (or left out of order). */
  critical: string[]
}

const BLANK: QuestionMark = { fraction: 0, answered: false, critical: [] }

/** Marks one answer. Credit by type:
 *  - single, number: 1 or 0 (a number within its tolerance, both ends included);
 *  - several, picture areas: hits ÷ right − false alarms ÷ wrong, at least 0 (Youden 1950, Cancer 3:32), so that
 *    choosing everything earns nothing;
 *  - order: Kendall's tau over the pairs whose order matters, at least 0 (Kendall 1938, Biometrika 30:81).
 *  Critical options count even where the question is otherwise right. An answer of another kind than the question's,
 *  or one that names what isn't there or leaves out an item of an order, is marked as blank: it did not come from our
 *  form. An empty choice is blank too. O(options), order O(items²). */
export function markQuestion(question: Question, answer: Answer | undefined): QuestionMark {
  if (answer === undefined || answer.kind !== question.kind) return BLANK
  switch (question.kind) {
    case 'single':
      return answer.kind === 'single' ? markChoice(question.options, [answer.option], true) : BLANK
    case 'several':
      return answer.kind === 'several' ? markChoice(question.options, answer.options, false) : BLANK
    case 'picture-areas':
      return answer.kind === 'picture-areas' ? markChoice(question.areas, answer.areas, false) : BLANK
    case 'number': {
      if (answer.kind !== 'number' || !Number.isFinite(answer.value)) return BLANK
      const off = Math.abs(answer.value - question.answer)
      return { fraction: off <= question.tolerance + 1e-9 ? 1 : 0, answered: true, critical: [] }
    }
    case 'order': {
      if (answer.kind !== 'order') return BLANK
      const given = new Set(answer.items)
      const whole = given.size === question.items.length && answer.items.length === given.size
      if (!whole || question.items.some((i) => !given.has(i.id))) return BLANK
      const { fraction } = markOrder(question, answer.items)
      const swapped = question.critical.filter(
        (c) => answer.items.indexOf(c.before) > answer.items.indexOf(c.after),
      )
      return { fraction, answered: true, critical: swapped.map((c) => c.after) }
    }
  }
}

interface Choice {
  id: string
  right: boolean
  critical: boolean
}

function markChoice(choices: readonly Choice[], chosenIds: readonly string[], one: boolean): QuestionMark {
  const ids = new Set(chosenIds)
  const chosen = choices.filter((c) => ids.has(c.id))
  if (chosen.length === 0 || chosen.length !== ids.size || (one && chosen.length !== 1)) return BLANK
  const critical = chosen.filter((c) => c.critical).map((c) => c.id)
  if (one) return { fraction: chosen[0]!.right ? 1 : 0, answered: true, critical }
  const things = choices.map((c) => ({ id: c.id, wrong: c.right, critical: false }))
  return { fraction: markSpot({ things }, [...ids]).fraction, answered: true, critical }
}
