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
import { unlessStale } from '../../unless-stale'

const to = (input: { countyId: string; electionId: string; seatId: string }) => (said: SaidKey) =>
  `/office/${input.countyId}/elections/${input.electionId}/seats/${input.seatId}?said=${said}`

export const lockAction = defineAction(
  SeatInput.extend({ ...countyIn, locked: z.enum(['yes', 'no']) }),
  async (actor, input) => {
    const locked = input.locked === 'yes'
    return unlessStale(() => lockSeat(actor, { ...input, locked }), locked ? 'locked' : 'unlocked', to(input))
  },
)

export const emptyAction = defineAction(SeatInput.extend(countyIn), async (actor, input) =>
  unlessStale(() => emptySeat(actor, input), 'emptied', to(input)),
)

export const seatPersonAction = defineAction(SeatPersonInput.extend(countyIn), async (actor, input) =>
  unlessStale(() => seatPerson(actor, input), 'seated', to(input)),
)

export const swapAction = defineAction(SwapInput.extend(countyIn), async (actor, input) =>
  unlessStale(() => swapSeats(actor, input), 'swapped', to(input)),
)
