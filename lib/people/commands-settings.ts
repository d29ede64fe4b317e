import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { DollarsInput, type PayRates } from './pay'
import { ServiceRules } from './service-rules'

const County = { countyId: z.string().min(1).max(100) }

export const ServiceRulesInput = z.object({
  ...County,
  students: ServiceRules.shape.students.unwrap(),
  studentsFromAge: z
    .string()
    .trim()
    .refine((text) => text === '' || /^(1\d|2[0-5])$/.test(text), 'Give an age from 10 to 25, or nothing.')
    .transform((text) => (text === '' ? null : Number(text))),
  studentsPerCrew: z
    .string()
    .trim()
    .refine((text) => /^([0-4]?\d|50)?$/.test(text), 'Give a number from 0 to 50, or nothing.')
    .transform((text) => (text === '' ? null : Number(text))),
  nominated: ServiceRules.shape.nominated.unwrap(),
  residents: ServiceRules.shape.residents.unwrap(),
  citation: z.string().trim().max(500),
})

/** Whom the county lets serve. Rosters are not touched; the board marks who may no longer sit.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export const setServiceRules = (actor: Actor, input: z.output<typeof ServiceRulesInput>): Promise<void> => {
  const { countyId, ...serviceRules } = input
  return changeSettings(actor, countyId, { serviceRules })
}

export const PayRatesInput = z
  .object({
    ...County,
    position: z.array(z.string().min(1).max(100)).min(1).max(100),
    perDay: z.array(z.string().max(20)),
    perHour: z.array(z.string().max(20)),
  })
  .refine((f) => f.perDay.length === f.position.length && f.perHour.length === f.position.length)

/** What each position is paid from now on; what is recorded keeps its own rate. A position with neither has no rate.
 *  @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT */
export async function setPayRates(actor: Actor, input: z.output<typeof PayRatesInput>): Promise<void> {
  const payRates: PayRates = {}
  const centsOf = (text: string, key: string): number => {
    const cents = DollarsInput.safeParse(text)
    if (cents.success) return cents.data
    throw new AppError('INVALID_INPUT', {
      userMessage: `“${text}” for ${key}: give dollars like 12 or 12.50, or nothing. Nothing was saved.`,
    })
  }
  input.position.forEach((key, i) => {
    const rate = {
      perDayCents: centsOf(input.perDay[i]!, key),
      perHourCents: centsOf(input.perHour[i]!, key),
    }
    if (rate.perDayCents + rate.perHourCents > 0) payRates[key] = rate
  })
  await changeSettings(actor, input.countyId, { payRates })
}

/** Sets some of a county's settings, with their audit record. @throws AppError NOT_FOUND, FORBIDDEN */
export async function changeSettings(actor: Actor, countyId: string, change: object): Promise<void> {
  assertCan(actor, 'publishRules', countyId)
  await transaction(async (tx) => {
    const text = JSON.stringify(change)
    const count =
      await tx.$executeRaw`UPDATE "County" SET settings = settings || ${text}::jsonb WHERE id = ${countyId}`
    if (count === 0) throw new AppError('NOT_FOUND', { userMessage: 'There is no such county.' })
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      {
        event: 'county.settings-changed',
        subject: `county:${countyId}`,
        detail: { changed: Object.keys(change) },
      },
    )
  })
}
