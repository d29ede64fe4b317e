import { z } from 'zod'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { partyKey } from '@/lib/crews/core/party'
import { db } from '@/lib/db/client'
import { AppError } from '@/lib/kernel/errors'
import { changeSettings } from '@/lib/people/commands-settings'
import { CountyRosterRules } from './county-rules'

const { shape } = CountyRosterRules

const whole = (most: number, least = 0) =>
  z
    .string()
    .trim()
    .transform((text) => (text === '' ? least : Number(text)))
    .refine(
      (n) => Number.isInteger(n) && n >= least && n <= most,
      `Give a whole number from ${least} to ${most}.`,
    )

const miles = z
  .string()
  .trim()
  .transform((text) => (text === '' ? 0 : Number(text)))
  .refine((n) => n >= 0 && n <= 100, 'Give miles from 0 to 100, like 2 or 1.5.')

export const RosterRulesInput = z.object({
  countyId: z.string().min(1).max(100),
  balance: shape.balance.unwrap(),
  firstParty: shape.firstParty.unwrap(),
  secondParty: shape.secondParty.unwrap(),
  mostDifference: whole(20),
  leadAndDeputy: shape.leadAndDeputy.unwrap(),
  deputy: shape.deputy.unwrap(),
  language: z
    .string()
    .trim()
    .regex(/^([a-z]{2,3})?$/, 'Choose one of the languages.'),
  speakers: whole(20),
  experienced: whole(20),
  elections: whole(50, 1),
  returnMiles: miles,
  changeMiles: miles,
  mostMiles: miles,
})

/** What the county wants of its rosters. Rosters are not touched; the next run follows it.
 *  @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT */
export async function setRosterRules(actor: Actor, input: z.output<typeof RosterRulesInput>): Promise<void> {
  const { countyId, ...rosterRules } = input
  assertCan(actor, 'publishRules', countyId)
  const [first, second] = [partyKey(rosterRules.firstParty), partyKey(rosterRules.secondParty)]
  const asksParties = rosterRules.balance !== 'none' || rosterRules.leadAndDeputy === 'different'
  if (asksParties && (first === null || second === null || first === second))
    throw new AppError('INVALID_INPUT', {
      userMessage:
        'Name the two parties that are to be balanced, as people’s records spell them. Nothing was saved.',
    })
  if (rosterRules.speakers > 0 && rosterRules.language === '')
    throw new AppError('INVALID_INPUT', {
      userMessage: 'Choose the language that somebody in each crew is to speak. Nothing was saved.',
    })
  if (rosterRules.leadAndDeputy === 'different') {
    const isDeputy = { countyId, key: rosterRules.deputy, rank: { not: 1 } }
    if ((await db().position.count({ where: isDeputy })) === 0)
      throw new AppError('INVALID_INPUT', {
        userMessage:
          'Choose which of your positions is the lead’s deputy: lead and deputy are to be of different parties. Nothing was saved.',
      })
  }
  await changeSettings(actor, countyId, { rosterRules })
}
