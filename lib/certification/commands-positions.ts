import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { AppError } from '@/lib/kernel/errors'
import { makeVersion } from './commands-rules'
import { loadPolicyTemplates } from './content'
import { withEarlierTraining } from './core/rule-form'

/** A county's positions: the work at the polls as it names it, and the certificate that each asks for. */

const CountyId = z.string().min(1).max(100)
const Name = z.string().trim().min(1, 'Give a name.').max(60, 'Use at most 60 characters.')

async function countyOrThrow(tx: Tx, actor: Actor, countyId: string) {
  assertCan(actor, 'publishRules', countyId)
  await tx.$executeRaw`SELECT 1 FROM "County" WHERE id = ${countyId} FOR UPDATE`
  const county = await tx.county.findUnique({ where: { id: countyId } })
  if (!county) throw new AppError('NOT_FOUND', { userMessage: 'There is no such county.' })
  return county
}

export const AdoptPositionsInput = z.object({
  countyId: CountyId,
  /** Keys of templates. */
  template: z.array(z.string().max(100), 'Choose at least one position.').min(1).max(50),
  effectiveFrom: CivilDateInput,
  citation: z
    .string()
    .trim()
    .min(5, 'Enter the county’s own legal citation, or a sentence that says there is none yet.')
    .max(1000, 'At most 1,000 characters.'),
  /** Months for which training before the county's records here stands for a whole rule; empty: it doesn't count. */
  earlierMonths: z
    .string()
    .trim()
    .refine(
      (text) => text === '' || (/^\d{1,4}$/.test(text) && Number(text) >= 1 && Number(text) <= 1200),
      'Write months from 1 to 1200, or nothing.',
    )
    .transform((text) => (text === '' ? null : Number(text))),
  checked: z.literal('yes', 'Mark that the rules were checked against your law and procedures.'),
})

/** Makes positions from templates, each with the template's rule for its certificate as version 1, under the county's own
 *  citation. A position that is there already is left as it is. Returns how many were made.
 *  @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT */
export async function adoptPositions(
  actor: Actor,
  input: z.output<typeof AdoptPositionsInput>,
): Promise<number> {
  const at = systemClock.now()
  const { countyId } = input
  const templates = loadPolicyTemplates()
  return transaction(async (tx) => {
    const county = await countyOrThrow(tx, actor, countyId)
    const there = await tx.position.findMany({ where: { countyId } })
    const taken = new Set(there.map((position) => position.key))
    let made = 0
    for (const key of new Set(input.template)) {
      const template = templates.get(key)
      const newest = template?.policy.ruleSets.at(-1)
      if (!template || !newest)
        throw new AppError('INVALID_INPUT', {
          userMessage: 'There is no such template. Load the page again.',
        })
      if (taken.has(key)) continue
      const name = { nameEn: template.names.en, nameEs: template.names.es }
      await makePosition(tx, actor, at, {
        countyId,
        key,
        ...name,
        rank: template.rank,
        certificateKey: template.policy.certificateKey,
      })
      made++
      const ruled = await tx.ruleSet.count({
        where: { countyId, certificateKey: template.policy.certificateKey },
      })
      if (ruled > 0) continue
      await makeVersion(tx, actor, at, county, {
        certificateKey: template.policy.certificateKey,
        version: 1,
        effectiveFrom: input.effectiveFrom,
        citation: input.citation,
        requirement:
          input.earlierMonths === null
            ? newest.requirement
            : withEarlierTraining(
                newest.requirement,
                template.policy.certificateKey,
                input.earlierMonths,
                name,
              ),
      })
    }
    return made
  })
}

type NewPosition = {
  countyId: string
  key: string
  nameEn: string
  nameEs: string
  rank: number
  certificateKey: string
}

async function makePosition(tx: Tx, actor: Actor, at: Date, position: NewPosition): Promise<void> {
  await tx.position.create({ data: position })
  await appendAudit(
    tx,
    { chain: position.countyId, actorAccountId: actor.accountId, at },
    {
      event: 'position.made',
      subject: `county:${position.countyId}`,
      detail: { key: position.key, certificateKey: position.certificateKey },
    },
  )
}

export const PositionInput = z.object({
  countyId: CountyId,
  /** Empty: a new one. */
  key: z.string().max(100),
  nameEn: Name,
  nameEs: Name,
  rank: z.coerce
    .number('Give a whole number from 1 to 99.')
    .int('Give a whole number from 1 to 99.')
    .min(1, 'Give a whole number from 1 to 99.')
    .max(99, 'Give a whole number from 1 to 99.'),
  /** A certificate that the county has; empty: one of its own (for a new position). */
  certificateKey: z.string().max(100).default(''),
})

const keyFrom = (name: string): string =>
  name
    .normalize('NFD')
    .toLowerCase()
    .replace(/[^a-z0-9 -]/g, '')
    .trim()
    .replace(/[ -]+/g, '-')
    .slice(0, 60)

/** Makes a position, or gives one other names, another rank or another certificate.
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT, INVALID_INPUT */
export async function savePosition(actor: Actor, input: z.output<typeof PositionInput>): Promise<void> {
  const at = systemClock.now()
  const { countyId, nameEn, nameEs, rank } = input
  await transaction(async (tx) => {
    await countyOrThrow(tx, actor, countyId)
    const there = await tx.position.findMany({ where: { countyId } })
    const own = there.find((position) => position.key === input.key)
    if (input.key !== '' && !own)
      throw new AppError('NOT_FOUND', { userMessage: 'The county has no such position.' })
    const key = own?.key ?? keyFrom(nameEn)
    if (key === '')
      throw new AppError('INVALID_INPUT', {
        userMessage: 'Please check the marked fields. Nothing was saved yet.',
        fields: { nameEn: 'Use letters or digits.' },
      })
    const same = there.find(
      (p) => p.key !== own?.key && (p.key === key || p.nameEn.toLowerCase() === nameEn.toLowerCase()),
    )
    if (same)
      throw new AppError('CONFLICT', {
        userMessage: 'The county has a position of this name. Nothing was saved.',
        fields: { nameEn: 'Choose another name.' },
      })
    const known = there.some((position) => position.certificateKey === input.certificateKey)
    if (input.certificateKey !== '' && !known)
      throw new AppError('INVALID_INPUT', { userMessage: 'The county has no such certificate.' })
    const certificateKey = input.certificateKey || (own?.certificateKey ?? key)
    if (!own) return makePosition(tx, actor, at, { countyId, key, nameEn, nameEs, rank, certificateKey })
    await tx.position.update({ where: { id: own.id }, data: { nameEn, nameEs, rank, certificateKey } })
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      { event: 'position.changed', subject: `county:${countyId}`, detail: { key, certificateKey } },
    )
  })
}
