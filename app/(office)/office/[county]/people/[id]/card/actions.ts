'use server'
import { z } from 'zod'
import { printSignInCard } from '@/lib/auth/cards'
import { env } from '@/lib/env'
import { qrPicture } from '@/lib/papers/qr-picture'
import { defineAction } from '@/lib/web/define-action'

/** The card with a QR code that opens the sign-in page with the code filled in: few like to type one on a phone. */
export const printCardAction = defineAction(z.object({ workerId: z.uuid() }), async (actor, input) => {
  const card = await printSignInCard(actor, input.workerId)
  const picture = await qrPicture(`${env().PUBLIC_URL ?? ''}/sign-in?card=${encodeURIComponent(card.code)}`)
  return { value: { ...card, picture } }
})
