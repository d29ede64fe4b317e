'use server'
import { z } from 'zod'
import { MoveInput, moveSeat, PublishInput, publishRoster, swapSeats } from '@/lib/roster/commands'
import { cancelRosterRun, RunInput, requestRosterRun } from '@/lib/roster/commands-run'
import { defineAction } from '@/lib/web/define-action'
import { countyIn } from './county-in'
import { BackInput } from './filter'
import { unlessStale } from './unless-stale'

export const fillSeatsAction = defineAction(RunInput.extend(countyIn), async (actor, input) => {
  await requestRosterRun(actor, input)
  return { goTo: `/office/${input.countyId}/elections/${input.electionId}` }
})

export const stopRunAction = defineAction(RunInput.extend(countyIn), async (actor, input) => {
  await cancelRosterRun(actor, input)
  return { goTo: `/office/${input.countyId}/elections/${input.electionId}?said=cancelled` }
})

export const publishAction = defineAction(PublishInput.extend(countyIn), async (actor, input) => {
  const to = (told: string) => `/office/${input.countyId}/elections/${input.electionId}?${told}`
  return unlessStale(() => publishRoster(actor, input), 'published', input.expected, to)
})

export const moveAction = defineAction(
  MoveInput.extend({ ...countyIn, way: z.enum(['put', 'swap']), back: BackInput }),
  async (actor, input) => {
    const board = `/office/${input.countyId}/elections/${input.electionId}`
    const to = (told: string) => `${board}?${[input.back, told].filter(Boolean).join('&')}`
    return input.way === 'put'
      ? unlessStale(() => moveSeat(actor, input), 'moved', input.expected, to)
      : unlessStale(
          () => swapSeats(actor, { ...input, otherSeatId: input.toSeatId }),
          'swapped',
          input.expected,
          to,
        )
  },
)
