'use server'
import { z } from 'zod'
import { SendAgainInput, sendAgain } from '@/lib/notices/commands'
import { defineAction } from '@/lib/web/define-action'
import { countyIdOf } from '../../../parts/office'

const Input = SendAgainInput.extend({ county: z.string().min(1).max(100).transform(countyIdOf) })

export const sendAgainAction = defineAction(Input, async (actor, { county, messageId }) => {
  await sendAgain(actor, county, messageId)
  return { message: 'The message is in the queue again.' }
})
