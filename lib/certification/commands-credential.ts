import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import type { CivilDate } from '@/lib/kernel/dates'
import { achievementAddress, issuerAddress, statusListAddress, verifyAddress } from './addresses'
import { signingKey } from './commands-keys'
import { buildCredential, signCredential } from './core/credential'
import { requirementSentence } from './core/sentence'
import { ruleSetOn } from './core/spans-of'
import { statusPlace } from './core/status-list'
import { listPolicies } from './queries'
import { getIssueOrThrow, type IssueSummary } from './queries-certificates'

/** What a credential says, from the issue and the rule in effect on its first day. In English: a signed text has one
 *  language, and the pages translate what they show. */
async function credentialOf(issue: IssueSummary) {
  const policy = (await listPolicies(db(), issue.countyId)).get(issue.certificateKey)
  const rule = policy && (ruleSetOn(policy, issue.validFrom) ?? policy.ruleSets.at(-1))
  const place = statusPlace(issue.statusNumber)
  return buildCredential({
    id: `urn:uuid:${issue.id}`,
    serial: issue.serial,
    issuer: {
      id: issuerAddress(issue.countyId),
      name: `${issue.countyName}: election office`,
      url: verifyAddress('').replace(/\/$/, ''),
    },
    holderId: `urn:uuid:${issue.certificateId}`,
    holderName: issue.holderName,
    achievement: {
      id: achievementAddress(issue.countyId, issue.certificateKey, rule?.version ?? 1),
      name: issue.roleName.en,
      description: `Certified to work at the polls as: ${issue.roleName.en}, in ${issue.countyName}.`,
      criteria: rule ? `${requirementSentence(rule.requirement, 'en')}.` : 'Set by the election office.',
    },
    role: issue.roleName.en,
    validFrom: issue.validFrom,
    validUntil: issue.validUntil as CivilDate | null,
    timeZone: issue.timeZone,
    status: { listUrl: statusListAddress(issue.countyId, place.list), index: place.index },
  })
}

/** The signed credential of an issue, for the holder and for whoever may read people in the county. Signed when first
 *  asked for, then kept: the same text each time. @throws AppError NOT_FOUND */
export async function getCredential(
  actor: Actor,
  issueId: string,
): Promise<{ serial: string; credential: string }> {
  const issue = await getIssueOrThrow(actor, issueId)
  if (issue.credential) return { serial: issue.serial, credential: issue.credential }
  const at = systemClock.now()
  const unsigned = await credentialOf(issue)
  return transaction(async (tx) => {
    // The county's lock is held from here on: of two requests at once the second finds the credential.
    const key = await signingKey(tx, issue.countyId, at)
    const again = await tx.certificateIssue.findUniqueOrThrow({
      where: { id: issue.id },
      select: { credential: true },
    })
    if (again.credential) return { serial: issue.serial, credential: again.credential }
    const credential = await signCredential(unsigned, key.jwk)
    await tx.certificateIssue.update({ where: { id: issue.id }, data: { credential, keyId: key.id } })
    const by = { chain: issue.countyId, actorAccountId: actor.accountId, at }
    if (key.isNew)
      await appendAudit(tx, by, {
        event: 'issuer-key.made',
        subject: `county:${issue.countyId}`,
        detail: { keyId: key.id },
      })
    await appendAudit(tx, by, {
      event: 'certificate.signed',
      subject: `worker:${issue.workerId}`,
      detail: { issueId: issue.id, keyId: key.id },
    })
    return { serial: issue.serial, credential }
  })
}
