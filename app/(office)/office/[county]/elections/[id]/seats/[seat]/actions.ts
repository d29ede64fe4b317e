'use server'
import { z } from 'zod'
import {
  emptySeat,
  lockSeat,
  SeatInput,
  SeatPersonInput,
  SwapInput,
  seatPerson,
  swapSeats,
} from '@/lib/roster/commands'
import type { SaidKey } from '@/lib/roster/words'
import { defineAction } from '@/lib/web/define-action'
import { countyIn } from '../../county-in'

const back = (input: { countyId: string; electionId: string; seatId: string }, said: SaidKey) => ({
  goTo: `/office/${input.countyId}/elections/${input.electionId}/seats/${input.seatId}?said=${said}`,
})

export const lockAction = defineAction(
  SeatInput.extend({ ...countyIn, locked: z.enum(['yes', 'no']) }),
  async (actor, input) => {
    const locked = input.locked === 'yes'
    await lockSeat(actor, { ...input, locked })
    return back(input, locked ? 'locked' : 'unlocked')
  },
)

export const emptyAction = defineAction(SeatInput.extend(countyIn), async (actor, input) => {
  await emptySeat(actor, input)
  return back(input, 'emptied')
})

export const seatPersonAction = defineAction(SeatPersonInput.extend(countyIn), async (actor, input) => {
  await seatPerson(actor, input)
  return back(input, 'seated')
})

export const swapAction = defineAction(SwapInput.extend(countyIn), async (actor, input) => {
  await swapSeats(actor, input)
  return back(input, 'swapped')
})
