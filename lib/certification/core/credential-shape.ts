import { z } from 'zod'

/** The parts of an Open Badges 3.0 AchievementCredential that decide whether it is one (1EdTech Open Badges 3.0,
 *  appendix B). Unknown members are let through, as the standard asks. `proof` is not looked at: the JWT around the
 *  credential is the proof. Stricter than the published JSON schema in one thing: an id must be a URI. */

export const VC_CONTEXT = 'https://www.w3.org/ns/credentials/v2'
export const OPEN_BADGES_CONTEXT = 'https://purl.imsglobal.org/spec/ob/v3p0/context-3.0.3.json'

const Uri = z.string().regex(/^[a-zA-Z][a-zA-Z0-9+.-]*:\S+$/, 'must be a URI')
const Instant = z.iso.datetime({ offset: true, error: 'must be a date and time with its zone' })
/** An array of types that names one of these. */
const typed = (...names: string[]) =>
  z
    .array(z.string())
    .min(1)
    .refine((types) => names.some((name) => types.includes(name)), {
      message: `must name ${names.join(' or ')}`,
    })

const IdentifierEntry = z.looseObject({
  type: z.literal('IdentifierEntry'),
  identifier: z.string(),
  identifierType: z.string(),
})

const IdentityObject = z.looseObject({
  type: z.literal('IdentityObject'),
  hashed: z.boolean(),
  identityHash: z.string(),
  identityType: z.string(),
})

export interface Profile {
  id: string
  type: string[]
  name?: string
  [more: string]: unknown
}
const Profile: z.ZodType<Profile> = z.lazy(() =>
  z.looseObject({
    id: Uri,
    type: typed('Profile'),
    name: z.string().optional(),
    otherIdentifier: z.array(IdentifierEntry).optional(),
    parentOrg: Profile.optional(),
  }),
)

const Alignment = z.looseObject({ type: typed('Alignment'), targetName: z.string(), targetUrl: z.string() })

const ResultDescription = z.looseObject({
  id: Uri,
  type: typed('ResultDescription'),
  name: z.string(),
  resultType: z.string(),
  alignment: z.array(Alignment).optional(),
})

const Achievement = z.looseObject({
  id: Uri,
  type: typed('Achievement'),
  name: z.string().min(1),
  description: z.string(),
  criteria: z.looseObject({ id: Uri.optional(), narrative: z.string().optional() }),
  creator: Profile.optional(),
  alignment: z.array(Alignment).optional(),
  resultDescription: z.array(ResultDescription).optional(),
  otherIdentifier: z.array(IdentifierEntry).optional(),
})

const Result = z.looseObject({ type: typed('Result'), alignment: z.array(Alignment).optional() })

const AchievementSubject = z
  .looseObject({
    id: Uri.optional(),
    type: typed('AchievementSubject'),
    achievement: Achievement,
    identifier: z.array(IdentityObject).optional(),
    result: z.array(Result).optional(),
    source: Profile.optional(),
    role: z.string().optional(),
    licenseNumber: z.string().optional(),
  })
  .refine((s) => s.id !== undefined || (s.identifier?.length ?? 0) > 0, {
    path: ['id'],
    message: 'must say who holds it, by id or identifier',
  })

const StatusEntry = z.looseObject({
  id: Uri.optional(),
  type: z.string(),
  statusPurpose: z.string().optional(),
  statusListIndex: z.union([z.string(), z.number()]).optional(),
  statusListCredential: Uri.optional(),
})

export const OpenBadgeCredential = z.looseObject({
  '@context': z
    .array(z.unknown())
    .min(2)
    .refine((c) => c[0] === VC_CONTEXT, { message: `must begin with ${VC_CONTEXT}` })
    .refine((c) => typeof c[1] === 'string' && OB_CONTEXT_SHAPE.test(c[1]), {
      message: 'must name the Open Badges 3.0 context second',
    }),
  id: Uri,
  type: typed('VerifiableCredential').and(typed('AchievementCredential', 'OpenBadgeCredential')),
  issuer: z.union([Uri, Profile]),
  validFrom: Instant,
  validUntil: Instant.optional(),
  awardedDate: Instant.optional(),
  name: z.string().optional(),
  credentialSubject: AchievementSubject,
  evidence: z.array(z.looseObject({ type: typed('Evidence') })).optional(),
  credentialStatus: z.union([StatusEntry, z.array(StatusEntry)]).optional(),
})
export type OpenBadgeCredential = z.infer<typeof OpenBadgeCredential>

const OB_CONTEXT_SHAPE = /^https:\/\/purl\.imsglobal\.org\/spec\/ob\/v3p0\/context(-3\.\d\.\d)*\.json$/

/** A W3C Bitstring Status List credential (Recommendation of 15 May 2025). */
export const StatusListCredential = z.looseObject({
  '@context': z
    .array(z.unknown())
    .min(1)
    .refine((c) => c[0] === VC_CONTEXT, { message: `must begin with ${VC_CONTEXT}` }),
  id: Uri,
  type: typed('BitstringStatusListCredential'),
  issuer: z.union([Uri, Profile]),
  validFrom: Instant.optional(),
  validUntil: Instant.optional(),
  credentialSubject: z.looseObject({
    id: Uri.optional(),
    type: z.literal('BitstringStatusList'),
    statusPurpose: z.string(),
    encodedList: z.string().startsWith('u', 'must be multibase base64url'),
  }),
})
export type StatusListCredential = z.infer<typeof StatusListCredential>

export const issuerIdOf = (issuer: string | Profile): string =>
  typeof issuer === 'string' ? issuer : issuer.id
