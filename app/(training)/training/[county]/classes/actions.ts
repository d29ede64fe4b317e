'use server'
import { z } from 'zod'
import {
  ChangeClassInput,
  cancelClass,
  changeClass,
  closeClass,
  makeClass,
  OneClassInput,
} from '@/lib/classes/commands'
import { BookForInput, bookFor, GiveUpForInput, giveUpFor } from '@/lib/classes/commands-bookings'
import { signInToClass } from '@/lib/classes/commands-room'
import { ClassInput } from '@/lib/classes/schema'
import { defineAction } from '@/lib/web/define-action'

export const makeClassAction = defineAction(ClassInput, async (actor, input) => {
  const { classId } = await makeClass(actor, input)
  return { goTo: `/training/${input.countyId}/classes/${classId}` }
})

export const changeClassAction = defineAction(ChangeClassInput, async (actor, input) => {
  await changeClass(actor, input)
  return { goTo: `/training/${input.countyId}/classes/${input.classId}` }
})

export const cancelClassAction = defineAction(OneClassInput, async (actor, { classId }) => {
  const { booked, told } = await cancelClass(actor, classId)
  const rest = booked - told
  return {
    message: `The class is cancelled. Told by e-mail: ${told}.${rest > 0 ? ` Please call the ${rest} without e-mail.` : ''}`,
  }
})

export const closeClassAction = defineAction(OneClassInput, async (actor, { classId }) => {
  const { attended, noShows } = await closeClass(actor, classId)
  return { message: `The sheet is closed: ${attended} attended, ${noShows} did not come.` }
})

export const bookForAction = defineAction(BookForInput, async (actor, input) => {
  const { name, state } = await bookFor(actor, input)
  return {
    message:
      state.state === 'waiting'
        ? `${name} is on the waiting list, number ${state.place}.`
        : `${name} is on the list.`,
  }
})

export const giveUpForAction = defineAction(GiveUpForInput, async (actor, input) => {
  await giveUpFor(actor, input)
  return { message: 'Taken off the list.' }
})

const SignInInput = z.object({
  classId: z.uuid(),
  workerId: z.uuid(),
  here: z.enum(['yes', 'no']).transform((text) => text === 'yes'),
})

export const signInAction = defineAction(SignInInput, async (actor, input) => {
  await signInToClass(actor, input)
  return { message: input.here ? 'Signed in.' : 'The sign-in is taken back.' }
})
