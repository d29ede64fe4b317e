'use server'
import { QuietHoursInput, setQuietHours } from '@/lib/notices/commands'
import {
  AskInput,
  askForReminders,
  CallInput,
  markReturned,
  ReminderInput,
  recordCall,
} from '@/lib/reminders/commands'
import { defineAction } from '@/lib/web/define-action'

export const askForRemindersAction = defineAction(AskInput, async (actor, input) => {
  const { batchId } = await askForReminders(actor, input)
  return { goTo: `/office/${input.countyId}/reminders/${batchId}` }
})

export const markReturnedAction = defineAction(ReminderInput, async (actor, { reminderId }) => {
  await markReturned(actor, reminderId)
  return { message: 'Marked: the letter came back.' }
})

export const recordCallAction = defineAction(CallInput, async (actor, input) => {
  await recordCall(actor, input)
  return { message: 'The call is on record.' }
})

export const quietHoursAction = defineAction(QuietHoursInput, async (actor, input) => {
  await setQuietHours(actor, input)
  return { message: 'Saved. It counts from the next message on.' }
})
