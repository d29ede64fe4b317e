import { calculateJwkThumbprint, compactVerify, importJWK, type JWK } from 'jose'
import type { z } from 'zod'
import { algorithmOf } from './credential'
import { issuerIdOf, OpenBadgeCredential, StatusListCredential } from './credential-shape'
import { bitAt, decodeBits, STATUS_LIST_SIZE } from './status-list'
import { type RefusalReason, refuse, type Verdict } from './verdict'

/** A published key set (RFC 7517). A key may carry `revoked` (it was lost or stolen) or `exp` (seconds; it was replaced
 *  for good), both as the OpenID Federation key history writes them (from memory): then nothing that it signed counts
 *  any more. A key that was merely rotated out stays in the set so that what it signed can still be checked. */
export interface KeySet {
  keys: (JWK & { revoked?: unknown; iat?: number; retired_at?: number; exp?: number })[]
}

export interface VerifyOptions {
  keys: KeySet
  now: Date
  /** The issuer expected; absent: whoever the keys belong to. */
  issuerId?: string
  /** Signed status lists by the address that certificates name. */
  statusLists?: Readonly<Record<string, string>>
  /** Refuse where a named status list is not at hand, instead of saying `statusChecked: false`. */
  statusRequired?: boolean
}

/** Checks a certificate as a stranger can: signature, structure, claims, time, status, in this order, and stops at
 *  the first refusal. No network, no clock of its own. Times are half-open: refused at `validUntil` itself.
 *  Source: Open Badges 3.0, sections 8.2.6 and 8.2.6.1. */
export async function verifyCredential(token: string, options: VerifyOptions): Promise<Verdict> {
  const opened = await open(token, options, OpenBadgeCredential)
  if ('valid' in opened) return opened
  const { credential, claims } = opened
  const issuerId = issuerIdOf(credential.issuer)
  const validFrom = Date.parse(credential.validFrom)
  const disagreement = claimsProblem(claims, {
    iss: issuerId,
    sub: credential.credentialSubject.id,
    jti: credential.id,
    nbf: Math.floor(validFrom / 1000),
    exp:
      credential.validUntil === undefined ? claims.exp : Math.floor(Date.parse(credential.validUntil) / 1000),
  })
  if (disagreement) return refuse('claimsDisagree', disagreement)
  if (options.issuerId !== undefined && issuerId !== options.issuerId) return refuse('wrongIssuer', issuerId)
  const now = options.now.getTime()
  const until = claims.exp === undefined ? null : (claims.exp as number) * 1000
  if (now < validFrom) return refuse('notYetValid', credential.validFrom)
  const validUntil = until === null ? null : (credential.validUntil ?? new Date(until).toISOString())
  if (until !== null && now >= until) return refuse('expired', validUntil)
  const status = await statusOf(credential, issuerId, options)
  if (typeof status !== 'boolean') return status
  const subject = credential.credentialSubject
  return {
    valid: true,
    holderName: subject.identifier?.find((i) => !i.hashed && i.identityType === 'name')?.identityHash ?? null,
    role: subject.role ?? null,
    serial: subject.licenseNumber ?? null,
    certificate: subject.achievement.name,
    issuerId,
    issuerName: typeof credential.issuer === 'string' ? null : (credential.issuer.name ?? null),
    validFrom: credential.validFrom,
    validUntil,
    statusChecked: status,
  }
}

type Claims = Record<string, unknown>
const HEADERS = new Set(['alg', 'kid', 'jwk', 'typ'])

/** Signature and structure of one signed credential. */
async function open<T>(
  token: string,
  { keys, now }: Pick<VerifyOptions, 'keys' | 'now'>,
  shape: z.ZodType<T>,
): Promise<(Verdict & { valid: false }) | { credential: T; claims: Claims }> {
  const parts = token.trim().split('.')
  const header = parts.length === 3 ? parseJson(parts[0]!) : undefined
  if (!header || !parts.every(isCanonicalBase64Url)) return refuse('notACredential')
  const extra = Object.keys(header).find((name) => !HEADERS.has(name))
  if (extra !== undefined) return refuse('headerNotAllowed', extra)
  if (header.typ !== undefined && header.typ !== 'JWT') return refuse('headerNotAllowed', 'typ')
  if (isRecord(header.jwk) && 'd' in header.jwk) return refuse('headerNotAllowed', 'jwk.d')
  if (header.alg !== 'RS256' && header.alg !== 'EdDSA')
    return refuse('algorithmNotAllowed', typeof header.alg === 'string' ? header.alg : null)
  const key = await findKey(header, keys)
  if (!key) return refuse('unknownKey', typeof header.kid === 'string' ? header.kid : null)
  if (key.revoked !== undefined && key.revoked !== false) return refuse('keyWithdrawn', key.kid ?? null)
  if (key.exp !== undefined && now.getTime() >= key.exp * 1000) return refuse('keyReplaced', key.kid ?? null)
  // The key decides the algorithm, never the token alone.
  if (algorithmOf(key) !== header.alg) return refuse('algorithmNotAllowed', header.alg)
  try {
    const { d: _private, ...publicKey } = key
    await compactVerify(parts.join('.'), await importJWK(publicKey, header.alg), { algorithms: [header.alg] })
  } catch {
    return refuse('signatureInvalid')
  }
  const claims = parseJson(parts[1]!)
  // Credentials of the older data model keep the badge in a `vc` claim; ours is the payload itself.
  const credential = shape.safeParse(claims)
  if (!claims || !credential.success) {
    const issue = credential.error?.issues[0]
    return refuse('notAnOpenBadge', issue ? `${issue.path.join('.')}: ${issue.message}` : null)
  }
  return { credential: credential.data, claims }
}

/** By `kid`; by thumbprint (RFC 7638) where the header only embeds the key: an embedded key proves nothing unless
 *  the office publishes the same one. */
async function findKey(header: Claims, keys: KeySet): Promise<KeySet['keys'][number] | undefined> {
  if (typeof header.kid === 'string') return keys.keys.find((key) => key.kid === header.kid)
  if (!isRecord(header.jwk)) return undefined
  try {
    const wanted = await calculateJwkThumbprint(header.jwk as JWK)
    for (const key of keys.keys) if ((await calculateJwkThumbprint(key)) === wanted) return key
  } catch {
    return undefined
  }
  return undefined
}

/** The first claim that is missing or differs, in words; null: all agree. `sub` may be absent only where the
 *  credential names its holder by identifier alone. */
function claimsProblem(claims: Claims, expected: Record<string, unknown>): string | null {
  for (const [name, value] of Object.entries(expected)) {
    if (claims[name] === undefined && value !== undefined) return `${name} is missing`
    if (
      claims[name] !== undefined &&
      typeof claims[name] !== (name === 'nbf' || name === 'exp' ? 'number' : 'string')
    )
      return `${name} is of the wrong kind`
    if (claims[name] !== value) return `${name} differs`
  }
  return null
}

/** True: checked and good. False: nothing to check, or no list at hand and none demanded. */
async function statusOf(
  credential: OpenBadgeCredential,
  issuerId: string,
  options: VerifyOptions,
): Promise<boolean | (Verdict & { valid: false })> {
  const entries = [credential.credentialStatus ?? []].flat()
  const failing = (reason: RefusalReason, detail: string) => refuse(reason, detail)
  let checked = false
  for (const entry of entries) {
    const index = Number(entry.statusListIndex)
    const listUrl = entry.statusListCredential
    const usable =
      entry.type === 'BitstringStatusListEntry' && listUrl !== undefined && Number.isInteger(index)
    const token = usable ? options.statusLists?.[listUrl] : undefined
    if (token === undefined || listUrl === undefined) {
      if (options.statusRequired) return failing('statusUnknown', listUrl ?? entry.type)
      continue
    }
    const list = await open(token, options, StatusListCredential)
    if ('valid' in list) return failing('statusListUnusable', list.reason)
    const problem = listProblem(list.credential, {
      listUrl,
      issuerId,
      purpose: entry.statusPurpose,
      now: options.now,
    })
    if (problem) return failing('statusListUnusable', problem)
    let bit: boolean | undefined
    try {
      const bits = decodeBits(list.credential.credentialSubject.encodedList)
      if (bits.length * 8 < STATUS_LIST_SIZE) return failing('statusListUnusable', 'it is too short')
      bit = bitAt(bits, index)
    } catch (error) {
      return failing('statusListUnusable', (error as Error).message)
    }
    if (bit === undefined) return failing('statusListUnusable', `it has no entry ${index}`)
    if (bit) return failing('revoked', String(index))
    checked = true
  }
  return checked
}

function listProblem(
  list: StatusListCredential,
  wanted: { listUrl: string; issuerId: string; purpose: string | undefined; now: Date },
): string | null {
  if (list.id !== wanted.listUrl) return 'it is another list'
  if (issuerIdOf(list.issuer) !== wanted.issuerId) return 'another office issued it'
  if (list.credentialSubject.statusPurpose !== wanted.purpose) return 'it serves another purpose'
  const now = wanted.now.getTime()
  if (list.validFrom !== undefined && now < Date.parse(list.validFrom)) return 'it is not valid yet'
  if (list.validUntil !== undefined && now >= Date.parse(list.validUntil)) return 'it is out of date'
  return null
}

const isRecord = (value: unknown): value is Claims =>
  typeof value === 'object' && value !== null && !Array.isArray(value)

/** Base64url has spare bits in its last character; without this check a changed last character could decode to the
 *  same signature. */
const isCanonicalBase64Url = (text: string): boolean =>
  text !== '' && Buffer.from(text, 'base64url').toString('base64url') === text

function parseJson(part: string): Claims | undefined {
  try {
    const value: unknown = JSON.parse(
      new TextDecoder('utf-8', { fatal: true }).decode(Buffer.from(part, 'base64url')),
    )
    return isRecord(value) ? value : undefined
  } catch {
    return undefined
  }
}
