import { createHash } from 'node:crypto'

/** JSON with object keys in code-unit order and no white space: equal values give equal text.
 *  Numbers, strings and literals as `JSON.stringify` writes them, which is what RFC 8785 asks for. */
export function canonicalJson(value: unknown): string {
  if (value === null || typeof value !== 'object') return JSON.stringify(value) ?? 'null'
  if (Array.isArray(value)) return `[${value.map(canonicalJson).join(',')}]`
  const entries = Object.entries(value as Record<string, unknown>)
    .filter(([, v]) => v !== undefined)
    .sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0))
  return `{${entries.map(([k, v]) => `${JSON.stringify(k)}:${canonicalJson(v)}`).join(',')}}`
}

/** SHA-256 (FIPS 180-4) as 64 lower-case hexadecimal digits. */
export const sha256Hex = (text: string): string => createHash('sha256').update(text, 'utf8').digest('hex')
