'use server'
import { z } from 'zod'
import { answerByLink } from '@/lib/offers/commands-answer'
import { AnswersInput, each } from '@/lib/offers/schema'
import { defineOpenAction } from '@/lib/web/define-action'

const Token = z.object({ token: z.string().max(100) })

/** Open to everybody: the letter's link is the key, and opens its own offers only. */
export const answerByLinkAction = defineOpenAction(AnswersInput.and(Token), async (input) => {
  for (const one of each(input)) await answerByLink(input.token, one)
  return { goTo: `/offer/${encodeURIComponent(input.token)}?said=${input.answer}` }
})
