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
import { defineAction } from '@/lib/web/define-action'
import { countyIn } from '../../county-in'
import { unlessStale } from '../../unless-stale'

const to = (input: { countyId: string; electionId: string; seatId: string }) => (told: string) =>
  `/office/${input.countyId}/elections/${input.electionId}/seats/${input.seatId}?${told}`

export const lockAction = defineAction(
  SeatInput.extend({ ...countyIn, locked: z.enum(['yes', 'no']) }),
  async (actor, input) => {
    const locked = input.locked === 'yes'
    return unlessStale(
      () => lockSeat(actor, { ...input, locked }),
      locked ? 'locked' : 'unlocked',
      input.expected,
      to(input),
    )
  },
)

export const emptyAction = defineAction(SeatInput.extend(countyIn), async (actor, input) =>
  unlessStale(() => emptySeat(actor, input), 'emptied', input.expected, to(input)),
)

export const seatPersonAction = defineAction(SeatPersonInput.extend(countyIn), async (actor, input) =>
  unlessStale(() => seatPerson(actor, input), 'seated', input.expected, to(input)),
)

export const swapAction = defineAction(SwapInput.extend(countyIn), async (actor, input) =>
  unlessStale(() => swapSeats(actor, input), 'swapped', input.expected, to(input)),
)
