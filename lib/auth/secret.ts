import { createCipheriv, createDecipheriv, createHmac, hkdfSync, randomBytes } from 'node:crypto'
import { existsSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { dataFolder, env } from '@/lib/env'

const secretFile = () => path.join(dataFolder(), 'secret')

/** SECRET, or the file that the start command made. Losing it ends every sign-in and makes printed cards,
 *  authenticator apps and the counties' signing keys useless, so it belongs in the backup. */
function installationSecret(): string {
  const given = env().SECRET
  if (given) return given
  if (!existsSync(secretFile()))
    throw new Error(
      `There is no secret: set SECRET, or start the product by its start command, which makes ${secretFile()}.`,
    )
  const kept = readFileSync(secretFile(), 'utf8').trim()
  if (kept.length < 32) throw new Error(`${secretFile()} is damaged: put it back from a backup.`)
  return kept
}

/** What a key is for. One key never serves two purposes. */
export type KeyPurpose =
  | 'code-hash'
  | 'rate-limit-key'
  | 'session-cookie'
  | 'signed-text'
  | 'offer-link'
  | SealPurpose
export type SealPurpose = 'totp-seal' | 'issuer-key-seal'

let derivedFrom = ''
const derived = new Map<KeyPurpose, Buffer>()

/** A 256-bit key for one purpose, from the installation's secret by HKDF-SHA-256 (RFC 5869). */
export function keyFor(purpose: KeyPurpose): Buffer {
  const secret = installationSecret()
  if (secret !== derivedFrom) {
    derived.clear()
    derivedFrom = secret
  }
  let key = derived.get(purpose)
  if (!key) {
    key = Buffer.from(hkdfSync('sha256', secret, '', `readiness/${purpose}`, 32))
    derived.set(purpose, key)
  }
  return key
}

/** HMAC-SHA-256 (RFC 2104) as 64 hexadecimal digits. */
export const hmacHex = (purpose: KeyPurpose, text: string): string =>
  createHmac('sha256', keyFor(purpose)).update(text, 'utf8').digest('hex')

const NONCE_BYTES = 12
const TAG_BYTES = 16

/** AES-256-GCM with a random nonce. `boundTo` (the id of an account or key) is authenticated too: a sealed text that is
 *  copied to another row doesn't open there. */
export function seal(text: string, boundTo: string, purpose: SealPurpose = 'totp-seal'): string {
  const nonce = randomBytes(NONCE_BYTES)
  const cipher = createCipheriv('aes-256-gcm', keyFor(purpose), nonce)
  cipher.setAAD(Buffer.from(boundTo))
  const sealed = Buffer.concat([cipher.update(text, 'utf8'), cipher.final()])
  return `v1.${Buffer.concat([nonce, cipher.getAuthTag(), sealed]).toString('base64url')}`
}

/** @throws Error where the text was changed, is bound to something else, or was sealed with another secret. */
export function unseal(sealed: string, boundTo: string, purpose: SealPurpose = 'totp-seal'): string {
  if (!sealed.startsWith('v1.')) throw new Error('a sealed text of an unknown version')
  const bytes = Buffer.from(sealed.slice(3), 'base64url')
  const decipher = createDecipheriv('aes-256-gcm', keyFor(purpose), bytes.subarray(0, NONCE_BYTES))
  decipher.setAAD(Buffer.from(boundTo))
  decipher.setAuthTag(bytes.subarray(NONCE_BYTES, NONCE_BYTES + TAG_BYTES))
  const text = decipher.update(bytes.subarray(NONCE_BYTES + TAG_BYTES))
  return Buffer.concat([text, decipher.final()]).toString('utf8')
}
