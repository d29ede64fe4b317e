import { decodeProtectedHeader } from 'jose'
import { giveBackTries, type Tries, takeTries } from '@/lib/auth/limits'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { OpenBadgeCredential } from './core/credential-shape'
import { readSerial } from './core/serial'
import type { RefusalReason } from './core/verdict'
import { verifyCredential } from './core/verify-credential'
import { issueOn, roleNameOf } from './queries-certificates'
import { findKeySet, findStatusList } from './queries-keys'
import type { BothLanguages } from './schema'

/** The least that answers the question; the only thing of a person that a public page shows. */
export interface PublicCertificate {
  serial: string
  holderName: string
  roleName: BothLanguages
  countyName: string
  validFrom: CivilDate
  /** First day without it; null: no end. */
  validUntil: CivilDate | null
}

export type PublicVerdict =
  | { status: 'valid'; certificate: PublicCertificate; checkedOn: CivilDate }
  | {
      status: 'refused'
      reason: RefusalReason | 'notFound'
      /** Null where nothing trustworthy is known. */
      certificate: PublicCertificate | null
      checkedOn: CivilDate | null
    }
  | { status: 'wait'; seconds: number }

const refused = (reason: RefusalReason | 'notFound'): PublicVerdict => ({
  status: 'refused',
  reason,
  certificate: null,
  checkedOn: null,
})

/** Checks a certificate by its number, as the QR code or somebody's typing gives it. Open to everybody, so limited by
 *  network address and altogether; a number that exists gives the try back. */
export async function verifyBySerial(typed: string, address: string): Promise<PublicVerdict> {
  const tries: Tries = [
    ['verify-address', address],
    ['verify-all', 'all'],
  ]
  const serial = readSerial(typed)
  if (serial === null) return refused('notFound')
  const wait = await takeTries(tries)
  if (wait !== null) return { status: 'wait', seconds: wait }
  const row = await db().certificate.findUnique({
    where: { serial },
    include: { issues: true, pollWorker: { select: { county: true } } },
  })
  if (!row) return refused('notFound')
  await giveBackTries(tries)
  const { county } = row.pollWorker
  const checkedOn = civilDateAt(systemClock.now(), county.timeZone)
  const { state, issue } = issueOn(row.issues, row.revokedAt !== null, checkedOn)
  if (!issue) return refused('notFound')
  const certificate: PublicCertificate = {
    serial,
    holderName: issue.holderName,
    roleName: await roleNameOf(county.id, row.certificateKey),
    countyName: county.name,
    validFrom: issue.validFrom as CivilDate,
    validUntil: issue.validUntil as CivilDate | null,
  }
  return state === 'valid'
    ? { status: 'valid', certificate, checkedOn }
    : { status: 'refused', reason: state, certificate, checkedOn }
}

/** Longer than any credential of ours by far. */
export const MOST_CREDENTIAL_CHARACTERS = 20_000

/** Checks a credential that somebody pasted or uploaded, by the county's published keys and status list, as a stranger
 *  would, and that it is on record here. Limited by network address: each costs a signature check. */
export async function verifyPasted(text: string, address: string): Promise<PublicVerdict> {
  const wait = await takeTries([['verify-credential-address', address]])
  if (wait !== null) return { status: 'wait', seconds: wait }
  const token = text.trim()
  if (token.length > MOST_CREDENTIAL_CHARACTERS) return refused('notACredential')
  const countyId = await countyOfKey(token)
  const keys = (countyId && (await findKeySet(countyId))) || { keys: [] }
  const now = systemClock.now()
  const first = await verifyCredential(token, { keys, now })
  if (!first.valid || !countyId) return refused(first.valid ? 'unknownKey' : first.reason)
  const issue = await issueOf(token, countyId)
  if (!issue) return refused('notOnRecord')
  const verdict = await verifyCredential(token, { keys, now, ...(await statusListsFor(token, countyId)) })
  const { county } = issue.certificate.pollWorker
  if (!verdict.valid) return refused(verdict.reason)
  return {
    status: 'valid',
    checkedOn: civilDateAt(now, county.timeZone),
    certificate: {
      serial: issue.certificate.serial,
      holderName: issue.holderName,
      roleName: await roleNameOf(countyId, issue.certificate.certificateKey),
      countyName: county.name,
      validFrom: issue.validFrom as CivilDate,
      validUntil: issue.validUntil as CivilDate | null,
    },
  }
}

/** Whose key the token names; null where it is none of ours. Not yet verified. */
async function countyOfKey(token: string): Promise<string | null> {
  let kid: unknown
  try {
    kid = decodeProtectedHeader(token).kid
  } catch {
    return null
  }
  if (typeof kid !== 'string') return null
  const key = await db().issuerKey.findUnique({ where: { kid }, select: { countyId: true } })
  return key?.countyId ?? null
}

/** The content of a token whose signature was verified. */
const contentOf = (token: string) =>
  OpenBadgeCredential.parse(JSON.parse(Buffer.from(token.split('.')[1]!, 'base64url').toString('utf8')))

async function issueOf(token: string, countyId: string) {
  const id = /^urn:uuid:([0-9a-f-]{36})$/.exec(contentOf(token).id)?.[1]
  if (!id) return null
  return db().certificateIssue.findFirst({
    where: { id, countyId },
    include: { certificate: { include: { pollWorker: { select: { county: true } } } } },
  })
}

/** The status list that the credential names, signed as the office publishes it. Required: without it nobody could say
 *  that a certificate wasn't revoked. */
async function statusListsFor(token: string, countyId: string) {
  const entry = [contentOf(token).credentialStatus ?? []].flat()[0]
  const url = entry?.statusListCredential
  const list = Number(url && /\/status\/(\d+)$/.exec(url)?.[1])
  const signed = url && Number.isInteger(list) ? await findStatusList(countyId, list, url) : null
  return { statusRequired: true, statusLists: url && signed ? { [url]: signed } : {} }
}
