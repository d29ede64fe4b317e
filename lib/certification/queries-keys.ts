import type { JWK } from 'jose'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { unseal } from '@/lib/auth/secret'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { invariant } from '@/lib/kernel/errors'
import { issuerAddress, keySetAddress, statusListAddress } from './addresses'
import { signCredential } from './core/credential'
import { buildStatusList, statusPlace, statusRange } from './core/status-list'
import type { KeySet } from './core/verify-credential'

const seconds = (at: Date) => Math.floor(at.getTime() / 1000)

interface KeyRow {
  publicKey: unknown
  createdAt: Date
  retiredAt: Date | null
  expiredAt: Date | null
  withdrawnAt: Date | null
}

/** A key as it is published. `iat`: made; `retired_at`: signs no more from then on, what it signed stays good; `exp`:
 *  replaced, from then on nothing that it signed counts; `revoked`: lost or stolen, nothing that it signed counts.
 *  The last two as the OpenID Federation key history writes them (from memory). */
const published = (key: KeyRow): KeySet['keys'][number] => ({
  ...(key.publicKey as JWK),
  iat: seconds(key.createdAt),
  ...(key.retiredAt ? { retired_at: seconds(key.retiredAt) } : {}),
  ...(key.expiredAt ? { exp: seconds(key.expiredAt) } : {}),
  ...(key.withdrawnAt ? { revoked: { revoked_at: seconds(key.withdrawnAt) } } : {}),
})

/** Every public key that a county ever signed with, newest first. Null: there is no such county. Open to everybody. */
export async function findKeySet(countyId: string): Promise<KeySet | null> {
  const county = await db().county.findUnique({ where: { id: countyId }, select: { id: true } })
  if (!county) return null
  const keys = await db().issuerKey.findMany({ where: { countyId }, orderBy: { createdAt: 'desc' } })
  return { keys: keys.map(published) }
}

/** One public key. Open to everybody. */
export async function findPublicKey(countyId: string, keyId: string): Promise<JWK | null> {
  if (!/^[0-9a-f-]{36}$/.test(keyId)) return null
  const key = await db().issuerKey.findFirst({ where: { id: keyId, countyId } })
  return key && published(key)
}

/** The county as an Open Badges profile, with where its keys are. Open to everybody. */
export async function findIssuerProfile(countyId: string): Promise<Record<string, unknown> | null> {
  const county = await db().county.findUnique({ where: { id: countyId }, select: { name: true } })
  if (!county) return null
  return {
    id: issuerAddress(countyId),
    type: ['Profile'],
    name: `${county.name}: election office`,
    jwks_uri: keySetAddress(countyId),
  }
}

/** Every county with where its keys are published. Open to everybody. */
export async function listIssuers(): Promise<{ id: string; name: string; keySet: string }[]> {
  const counties = await db().county.findMany({ select: { id: true, name: true }, orderBy: { name: 'asc' } })
  return counties.map((county) => ({ ...county, keySet: keySetAddress(county.id) }))
}

/** A verifier must ask anew after a day; the list that we publish is renewed each hour. */
const HOUR_MS = 3_600_000
const LIST_HOURS = 25
const signedLists = new Map<string, { mark: string; token: string }>()

/** A county's signed status list; null where it has no such list. Any process signs the same text within an hour, as
 *  long as nothing is revoked. `address`: the id that the list carries, its own by default. Open to everybody. */
export async function findStatusList(
  countyId: string,
  list: number,
  address = statusListAddress(countyId, list),
): Promise<string | null> {
  const [key, newest] = await Promise.all([
    db().issuerKey.findFirst({ where: { countyId, retiredAt: null }, orderBy: { createdAt: 'desc' } }),
    db().certificateIssue.aggregate({ where: { countyId }, _max: { statusNumber: true } }),
  ])
  if (!key || list < 1 || list > statusPlace(newest._max.statusNumber ?? 0).list) return null
  const [from, until] = statusRange(list)
  const where = { countyId, withdrawnAt: { not: null }, statusNumber: { gte: from, lt: until } }
  const hour = Math.floor(systemClock.now().getTime() / HOUR_MS) * HOUR_MS
  // Entries are only ever added, so their number tells whether the list is still the same.
  const mark = `${hour} ${key.id} ${await db().certificateIssue.count({ where })}`
  const kept = signedLists.get(address)
  if (kept?.mark === mark) return kept.token
  const revoked = await db().certificateIssue.findMany({ where, select: { statusNumber: true } })
  invariant(key.sealedPrivate !== null, 'a key in use has its private half')
  const token = await signCredential(
    buildStatusList({
      id: address,
      issuerId: issuerAddress(countyId),
      issuedAt: new Date(hour),
      validUntil: new Date(hour + LIST_HOURS * HOUR_MS),
      revokedIndexes: revoked.map((issue) => statusPlace(issue.statusNumber).index),
    }),
    JSON.parse(unseal(key.sealedPrivate, key.id, 'issuer-key-seal')) as JWK,
  )
  signedLists.set(address, { mark, token })
  return token
}

export interface KeySummary {
  id: string
  kid: string
  createdAt: Date
  retiredAt: Date | null
  expiredAt: Date | null
  withdrawnAt: Date | null
  credentials: number
}

/** A county's keys for its administrators, newest first. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listKeys(actor: Actor, countyId: string): Promise<KeySummary[]> {
  assertCan(actor, 'manageIssuerKeys', countyId)
  const keys = await db().issuerKey.findMany({
    where: { countyId },
    orderBy: { createdAt: 'desc' },
    include: { _count: { select: { issues: true } } },
  })
  return keys.map(({ id, kid, createdAt, retiredAt, expiredAt, withdrawnAt, _count }) => ({
    id,
    kid,
    createdAt,
    retiredAt,
    expiredAt,
    withdrawnAt,
    credentials: _count.issues,
  }))
}
