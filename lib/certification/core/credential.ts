import { CompactSign, importJWK, type JWK } from 'jose'
import { Temporal } from 'temporal-polyfill'
import type { CivilDate } from '@/lib/kernel/dates'
import {
  issuerIdOf,
  OPEN_BADGES_CONTEXT,
  type OpenBadgeCredential,
  type StatusListCredential,
  VC_CONTEXT,
} from './credential-shape'
import { wholeSecond } from './status-list'

/** Everything that a certificate says. Nothing of a person but the name as printed on the card. */
export interface CredentialParts {
  /** URI of this credential, `https:` or `urn:uuid:`; unique for ever. */
  id: string
  serial: string
  issuer: { id: string; name: string; url?: string }
  /** URI that stands for the holder in this credential. A fresh `urn:uuid:` per certificate can't be linked. */
  holderId: string
  holderName: string
  achievement: {
    /** URI of the certificate type and rule version. */
    id: string
    name: string
    description: string
    /** What had to be done, in prose. */
    criteria: string
  }
  /** The position that it certifies for. */
  role: string
  validFrom: CivilDate
  /** First day on which it is no longer valid; null: open-ended. */
  validUntil: CivilDate | null
  /** The county's IANA time zone: a civil date becomes the instant at which that day begins there. */
  timeZone: string
  status?: { listUrl: string; index: number }
}

/** The instant at which a civil day begins in a zone. */
export const startOfDay = (date: CivilDate, timeZone: string): Date =>
  new Date(Temporal.PlainDate.from(date).toZonedDateTime(timeZone).epochMilliseconds)

/** An unsigned Open Badges 3.0 credential. Contexts in the required order: W3C credentials first, Open Badges
 *  second. Source: 1EdTech Open Badges 3.0, appendix B; W3C Verifiable Credentials Data Model 2.0. */
export function buildCredential(parts: CredentialParts): OpenBadgeCredential {
  return {
    '@context': [VC_CONTEXT, OPEN_BADGES_CONTEXT],
    id: parts.id,
    type: ['VerifiableCredential', 'OpenBadgeCredential'],
    name: parts.achievement.name,
    issuer: {
      id: parts.issuer.id,
      type: ['Profile'],
      name: parts.issuer.name,
      ...(parts.issuer.url ? { url: parts.issuer.url } : {}),
    },
    validFrom: wholeSecond(startOfDay(parts.validFrom, parts.timeZone)),
    ...(parts.validUntil ? { validUntil: wholeSecond(startOfDay(parts.validUntil, parts.timeZone)) } : {}),
    credentialSubject: {
      id: parts.holderId,
      type: ['AchievementSubject'],
      identifier: [
        { type: 'IdentityObject', hashed: false, identityHash: parts.holderName, identityType: 'name' },
      ],
      role: parts.role,
      licenseNumber: parts.serial,
      achievement: {
        id: parts.achievement.id,
        type: ['Achievement'],
        achievementType: 'Certification',
        name: parts.achievement.name,
        description: parts.achievement.description,
        criteria: { narrative: parts.achievement.criteria },
      },
    },
    ...(parts.status
      ? {
          credentialStatus: {
            id: `${parts.status.listUrl}#${parts.status.index}`,
            type: 'BitstringStatusListEntry',
            statusPurpose: 'revocation',
            statusListIndex: String(parts.status.index),
            statusListCredential: parts.status.listUrl,
          },
        }
      : {}),
  }
}

/** The algorithm that a key signs with: RS256 for RSA (the one that every Open Badges verifier must know), EdDSA
 *  for Ed25519. Anything else is undefined: not accepted. */
export function algorithmOf(key: JWK): 'RS256' | 'EdDSA' | undefined {
  const algorithm =
    key.kty === 'RSA' ? 'RS256' : key.kty === 'OKP' && key.crv === 'Ed25519' ? 'EdDSA' : undefined
  return key.alg === undefined || key.alg === algorithm ? algorithm : undefined
}

/** The half of a signing key that may be published: named members only, so that no private one can slip through.
 *  Key sets at a well-known address are made of these. @throws RangeError as `signCredential` does. */
export function publicKeyOf(key: JWK): JWK {
  const alg = algorithmOf(key)
  if (!alg) throw new RangeError('the signing key must be RSA (RS256) or Ed25519 (EdDSA)')
  if (!key.kid) throw new RangeError('the signing key needs a kid: the address of its public half')
  const common = { kid: key.kid, alg, use: 'sig' }
  return alg === 'RS256'
    ? { kty: 'RSA', n: key.n, e: key.e, ...common }
    : { kty: 'OKP', crv: 'Ed25519', x: key.x, ...common }
}

/** Wraps a credential (or status list) in a JWT: the payload is the credential itself with the registered claims
 *  beside it; the header has `alg`, `kid` and `typ` and no more. `key` is the private JWK; its `kid` is the URI at
 *  which its public half is published. RS256 signatures are deterministic.
 *  Source: Open Badges 3.0, section 8.2. @throws RangeError for a key without `kid` or of another kind. */
export async function signCredential(
  credential: OpenBadgeCredential | StatusListCredential,
  key: JWK,
): Promise<string> {
  const alg = algorithmOf(key)
  if (!alg) throw new RangeError('the signing key must be RSA (RS256) or Ed25519 (EdDSA)')
  if (!key.kid) throw new RangeError('the signing key needs a kid: the address of its public half')
  const seconds = (instant: string) => Math.floor(Date.parse(instant) / 1000)
  const payload = {
    ...credential,
    iss: issuerIdOf(credential.issuer),
    jti: credential.id,
    sub: credential.credentialSubject.id,
    ...(credential.validFrom ? { nbf: seconds(credential.validFrom) } : {}),
    ...(credential.validUntil ? { exp: seconds(credential.validUntil) } : {}),
  }
  return new CompactSign(new TextEncoder().encode(JSON.stringify(payload)))
    .setProtectedHeader({ alg, kid: key.kid, typ: 'JWT' })
    .sign(await importJWK(key, alg))
}
