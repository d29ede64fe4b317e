import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { enqueue } from '@/lib/queue/enqueue'
import type { Prisma } from '@/prisma/client/client'
import { loadPolicyTemplates } from './content'
import { Requirement } from './schema'

/** The job that brings the derived spans of a county in line with its rules. */
export const REBUILD = 'rebuild-spans'

const RequirementText = z.string().transform((text, context): Requirement => {
  try {
    return Requirement.parse(JSON.parse(text))
  } catch {
    context.addIssue({
      code: 'custom',
      message: 'The rule can’t be read. Go back to its form and preview it again.',
    })
    return z.NEVER
  }
})

export const PublishRuleInput = z.object({
  countyId: z.string().min(1).max(100),
  certificateKey: z.string().regex(/^[a-z0-9-]{1,60}$/),
  /** The newest version that the clerk has seen; 0: none yet. */
  expectedVersion: z.coerce.number().int().min(0),
  effectiveFrom: CivilDateInput,
  citation: z
    .string()
    .trim()
    .min(5, 'Enter the county’s own legal citation, or a sentence that says there is none yet.')
    .max(1000, 'At most 1,000 characters.'),
  requirement: RequirementText,
  checked: z.literal('yes', 'Mark that the rule was checked against your law and procedures.'),
})

/** Publishes a rule as a new version: it judges every date from its own on, whenever the evidence dates from. Nothing
 *  earlier is changed. Who is certified when follows by a job, at once.
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT, INVALID_INPUT */
export async function publishRuleSet(
  actor: Actor,
  input: z.output<typeof PublishRuleInput>,
): Promise<{ version: number }> {
  const at = systemClock.now()
  const { countyId, certificateKey } = input
  return transaction(async (tx) => {
    assertCan(actor, 'publishRules', countyId)
    // One publication of a county at a time.
    await tx.$executeRaw`SELECT 1 FROM "County" WHERE id = ${countyId} FOR UPDATE`
    const county = await tx.county.findUnique({ where: { id: countyId } })
    const known =
      (await tx.position.count({ where: { countyId, certificateKey } })) +
      (await tx.ruleSet.count({ where: { countyId, certificateKey } }))
    if (!county || known === 0)
      throw new AppError('NOT_FOUND', { userMessage: 'This county has no such certificate.' })
    const newest = await tx.ruleSet.findFirst({
      where: { countyId, certificateKey },
      orderBy: { version: 'desc' },
    })
    if ((newest?.version ?? 0) !== input.expectedVersion)
      throw new AppError('CONFLICT', {
        userMessage:
          'Somebody published another version meanwhile. Load the page again and look at it first.',
      })
    const version = input.expectedVersion + 1
    await makeVersion(tx, actor, at, county, { ...input, version })
    return { version }
  })
}

/** Writes one version of a rule with its audit record and asks for the spans that follow, in the caller's transaction,
 *  who has authorised and holds the county's lock. @throws AppError INVALID_INPUT */
export async function makeVersion(
  tx: Tx,
  actor: Actor,
  at: Date,
  county: { id: string; timeZone: string },
  rule: {
    certificateKey: string
    version: number
    effectiveFrom: CivilDate
    citation: string
    requirement: Requirement
  },
): Promise<void> {
  const { certificateKey, version, effectiveFrom, citation, requirement } = rule
  const countyId = county.id
  if (effectiveFrom < civilDateAt(at, county.timeZone))
    throw new AppError('INVALID_INPUT', {
      userMessage: 'A rule can’t change days that are past: people were judged by the rule of that day.',
      fields: { effectiveFrom: 'Choose today or a later day.' },
    })
  const template = loadPolicyTemplates().get(certificateKey)
  if (template?.policy.ruleSets.some((ruleSet) => ruleSet.citation.trim() === citation))
    throw new AppError('INVALID_INPUT', {
      userMessage: 'This is still the citation of the template.',
      fields: { citation: 'Enter your county’s own citation, or say that there is none yet.' },
    })
  await tx.ruleSet.create({
    data: {
      countyId,
      certificateKey,
      version,
      effectiveFrom,
      requirement: requirement as unknown as Prisma.InputJsonValue,
      citation,
      publishedAt: at,
    },
  })
  await enqueue(tx, REBUILD, { countyId }, { jobKey: `${REBUILD}:${countyId}`, countyId })
  await appendAudit(
    tx,
    { chain: countyId, actorAccountId: actor.accountId, at },
    {
      event: 'rules.published',
      subject: `county:${countyId}`,
      detail: { certificateKey, version, effectiveFrom },
    },
  )
}
