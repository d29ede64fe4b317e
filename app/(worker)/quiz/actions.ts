'use server'
import { getTranslations } from 'next-intl/server'
import { z } from 'zod'
import { handInQuiz, saveAnswer, startQuiz } from '@/lib/assessment/commands'
import { AppealInput, enterAppeal } from '@/lib/assessment/commands-appeals'
import { AppError } from '@/lib/kernel/errors'
import { Id } from '@/lib/scenarios/schema'
import { defineAction } from '@/lib/web/define-action'
import { preferences } from '@/lib/web/preferences'

export const startQuizAction = defineAction(z.object({ key: Id }), async (actor, { key }) => {
  const { locale } = await preferences()
  const { attemptId } = await startQuiz(actor, key, locale)
  return { goTo: `/quiz/sit/${attemptId}/1` }
})

const SaveInput = z.looseObject({
  attemptId: z.uuid(),
  n: z.coerce.number().int().min(1).max(200),
  /** Ids that were ticked or chosen. */
  chosen: z.array(z.string().max(80)).max(20).default([]),
  number: z.string().max(20).optional(),
  to: z.enum(['next', 'back', 'review']).catch('next'),
})

/** Fields `place-<id>` of an order question: the ids by their chosen place; ids without one are left out.
 *  @throws AppError INVALID_INPUT where two lines have the same place */
function orderIn(fields: Record<string, unknown>): string[] {
  const placed = Object.entries(fields)
    .flatMap(([name, value]) =>
      name.startsWith('place-') && typeof value === 'string' && /^\d{1,2}$/.test(value)
        ? [{ id: name.slice('place-'.length), place: Number(value) }]
        : [],
    )
    .sort((a, b) => a.place - b.place)
  const twice = placed.find((line, i) => line.place === placed[i + 1]?.place)
  if (twice)
    throw new AppError('INVALID_INPUT', {
      userMessage: `Two lines have the place ${twice.place}. Please give each line a place of its own.`,
      userMessageEs: `Dos líneas tienen el lugar ${twice.place}. Dé a cada línea un lugar propio.`,
    })
  return placed.map(({ id }) => id)
}

export const saveAnswerAction = defineAction(SaveInput, async (actor, input) => {
  const saved = await saveAnswer(actor, {
    attemptId: input.attemptId,
    n: input.n,
    chosen: input.chosen,
    order: orderIn(input),
    number: input.number,
  })
  if (saved.status === 'over') return { goTo: `/quiz/result/${input.attemptId}` }
  const to = input.to === 'back' ? input.n - 1 : input.n + 1
  return {
    goTo:
      input.to === 'review' || to > saved.of
        ? `/quiz/sit/${input.attemptId}/review`
        : `/quiz/sit/${input.attemptId}/${Math.max(1, to)}`,
  }
})

export const handInAction = defineAction(z.object({ attemptId: z.uuid() }), async (actor, { attemptId }) => {
  await handInQuiz(actor, attemptId)
  return { goTo: `/quiz/result/${attemptId}` }
})

export const enterAppealAction = defineAction(AppealInput, async (actor, input) => {
  await enterAppeal(actor, input)
  return { message: (await getTranslations('quiz'))('appeal.sent') }
})
