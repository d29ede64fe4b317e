'use server'
import { z } from 'zod'
import { printSignInCard } from '@/lib/auth/cards'
import { defineAction } from '@/lib/web/define-action'

export const printCardAction = defineAction(z.object({ workerId: z.uuid() }), async (actor, input) => ({
  value: await printSignInCard(actor, input.workerId),
}))
