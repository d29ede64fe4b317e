import { Secret, TOTP } from 'otpauth'

/** RFC 6238 with what every authenticator app supports: SHA-1, 6 digits, 30 seconds. */
const PERIOD_SECONDS = 30
const DIGITS = 6
/** One step early or late is accepted, for clocks that differ and people who type slowly (RFC 6238, 5.2). */
const WINDOW_STEPS = 1

/** The 30-second step whose code this is, near `at`; null where it is none. The caller refuses a step that was used
 *  before (RFC 6238, 5.2: a code is accepted once). */
export function stepOfCode(secretBase32: string, typed: string, at: Date): number | null {
  const token = typed.replace(/\D/g, '')
  if (token.length !== DIGITS) return null
  const delta = TOTP.validate({
    token,
    secret: Secret.fromBase32(secretBase32),
    algorithm: 'SHA1',
    digits: DIGITS,
    period: PERIOD_SECONDS,
    timestamp: at.getTime(),
    window: WINDOW_STEPS,
  })
  return delta === null ? null : Math.floor(at.getTime() / 1000 / PERIOD_SECONDS) + delta
}

/** The otpauth:// address that an app reads from a QR code. */
export const authenticatorAddress = (secretBase32: string, issuer: string, label: string): string =>
  new TOTP({
    issuer,
    label,
    algorithm: 'SHA1',
    digits: DIGITS,
    period: PERIOD_SECONDS,
    secret: Secret.fromBase32(secretBase32),
  }).toString()
