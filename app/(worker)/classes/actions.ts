'use server'
import { OneClassInput } from '@/lib/classes/commands'
import { bookClass, cancelBooking } from '@/lib/classes/commands-bookings'
import { defineAction } from '@/lib/web/define-action'

export const bookClassAction = defineAction(OneClassInput, async (actor, { classId }) => {
  await bookClass(actor, classId)
  return { goTo: `/classes/${classId}` }
})

export const giveUpAction = defineAction(OneClassInput, async (actor, { classId }) => {
  await cancelBooking(actor, classId)
  return { goTo: `/classes/${classId}?said=given-up` }
})
