import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { CODE_ALPHABET, cardCodeFrom, mailCodeFrom, normaliseCode } from '@/lib/auth/core/code-text'

describe('codes that people type', () => {
  it('uses the 32 signs of Crockford’s base 32', () => {
    // D. Crockford, "Base 32": the ten digits and the letters without I, L, O and U.
    expect(CODE_ALPHABET).toBe('0123456789ABCDEFGHJKMNPQRSTVWXYZ')
  })

  it('writes each 5 bits as one sign, in two groups', () => {
    // Hand: 0→0, 1→1, 9→9, 10→A, 17→H, 18→J, 31→Z, 32→0 (32 mod 32), 255→Z (255 = 7·32 + 31), 20→M
    expect(cardCodeFrom(Uint8Array.from([0, 1, 9, 10, 17, 18, 31, 32, 255, 20]))).toBe('019AH-JZ0ZM')
    expect(() => cardCodeFrom(new Uint8Array(9))).toThrow(RangeError)
  })

  it('makes every sign equally likely: the 256 values of a byte give each of 32 signs 8 times', () => {
    const counts = new Map<string, number>()
    for (let byte = 0; byte < 256; byte++) {
      const sign = cardCodeFrom(new Uint8Array(10).fill(byte))[0]!
      counts.set(sign, (counts.get(sign) ?? 0) + 1)
    }
    expect([...counts.values()]).toEqual(Array(32).fill(8))
  })

  it('reads a code the same however it is typed', () => {
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 10, maxLength: 10 }), (bytes) => {
        const code = cardCodeFrom(bytes)
        const plain = code.replace('-', '')
        const typed = [
          code.toLowerCase(),
          ` ${plain} `,
          plain.replace(/0/g, 'o').replace(/1/g, 'l').replace(/V/g, 'u'),
          plain.replace(/1/g, 'I').split('').join(' '),
          code.replace('-', '–'),
        ]
        for (const text of typed) expect(normaliseCode(text)).toBe(plain)
      }),
    )
  })

  it('writes a mailed code with all its eight digits', () => {
    expect(mailCodeFrom(0)).toBe('0000 0000')
    expect(mailCodeFrom(4_172_296)).toBe('0417 2296')
    for (const bad of [-1, 1e8, 1.5, Number.NaN]) expect(() => mailCodeFrom(bad)).toThrow(RangeError)
  })
})
