import { env } from '@/lib/env'

/** Every public address that certificates name. They are printed and signed, so they never change their shape. */
const at = (path: string): string =>
  `${(env().PUBLIC_URL ?? `http://localhost:${env().PORT}`).replace(/\/$/, '')}${path}`

/** The county as the issuer of credentials; answers with its public profile. */
export const issuerAddress = (countyId: string) => at(`/issuers/${countyId}`)
/** One public key: the `kid` of what it signs. */
export const keyAddress = (countyId: string, keyId: string) => at(`/issuers/${countyId}/keys/${keyId}`)
/** All public keys of a county, as a JWK set. */
export const keySetAddress = (countyId: string) => at(`/.well-known/certificate-keys/${countyId}`)
export const statusListAddress = (countyId: string, list: number) => at(`/issuers/${countyId}/status/${list}`)
/** The certificate type and rule version that a credential speaks of. */
export const achievementAddress = (countyId: string, certificateKey: string, version: number) =>
  at(`/issuers/${countyId}#${certificateKey}-${version}`)
/** What the QR code opens. */
export const verifyAddress = (serial: string) => at(`/verify/${serial}`)
