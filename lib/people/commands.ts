import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, isCivilDate } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { toKm } from '@/lib/kernel/miles'

const dates = z.string().transform((text, context): CivilDate[] => {
  const parts = text.split(/[\s,;]+/).filter(Boolean)
  for (const part of parts)
    if (!isCivilDate(part))
      context.addIssue({ code: 'custom', message: `“${part.slice(0, 20)}” is not a date like 2028-11-07.` })
  return [...new Set(parts.filter(isCivilDate))].sort()
})

export const OfferInput = z.object({
  countyId: z.string().min(1).max(100),
  workerId: z.uuid(),
  wantsPositionKey: z
    .string()
    .max(100)
    .transform((key) => key || null),
  offersShift: z.enum(['full', 'morning', 'afternoon']),
  unavailableOn: dates,
  /** In miles, as the form asks; kept in kilometres. */
  maxTravelMiles: z
    .string()
    .trim()
    .transform((text, context) => {
      if (text === '') return null
      const miles = Number(text)
      if (Number.isFinite(miles) && miles >= 0 && miles <= 600) return miles
      context.addIssue({ code: 'custom', message: 'Give miles from 0 to 600, or nothing.' })
      return z.NEVER
    }),
  active: z.literal('yes').optional(),
})

/** Changes what a person offers: position, part of the day, days away, furthest way, active or not. Rosters are not
 *  touched; the board marks seats whose person may no longer sit there. @throws AppError NOT_FOUND, FORBIDDEN */
export async function changeOffer(actor: Actor, input: z.output<typeof OfferInput>): Promise<void> {
  await transaction(async (tx) => {
    const worker = await tx.pollWorker.findUnique({ where: { id: input.workerId } })
    if (!worker || worker.countyId !== input.countyId)
      throw new AppError('NOT_FOUND', {
        userMessage: 'There is no such person, or they belong to another county.',
      })
    assertCan(actor, 'changeRoster', worker.countyId)
    if (
      input.wantsPositionKey !== null &&
      !(await tx.position.findUnique({
        where: { countyId_key: { countyId: worker.countyId, key: input.wantsPositionKey } },
      }))
    )
      throw new AppError('INVALID_INPUT', { userMessage: 'This county has no such position.' })
    const wanted = {
      wantsPositionKey: input.wantsPositionKey,
      offersShift: input.offersShift,
      unavailableOn: input.unavailableOn as string[],
      maxTravelKm: input.maxTravelMiles === null ? null : toKm(input.maxTravelMiles),
      active: input.active === 'yes',
    }
    const changed = (Object.keys(wanted) as (keyof typeof wanted)[]).filter(
      (key) => JSON.stringify(wanted[key]) !== JSON.stringify(worker[key]),
    )
    if (changed.length === 0) return
    await tx.pollWorker.update({ where: { id: worker.id }, data: wanted })
    await appendAudit(
      tx,
      { chain: worker.countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      { event: 'worker.offer-changed', subject: `worker:${worker.id}`, detail: { changed } },
    )
  })
}
