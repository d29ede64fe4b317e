import { describe, expect, it } from 'vitest'
import { canonicalJson, sha256Hex } from '@/lib/kernel/hash'

describe('canonical JSON', () => {
  it('writes the example of RFC 8785, section 3.2.4 (from memory)', () => {
    const value = JSON.parse(String.raw`{
      "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
      "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
      "literals": [null, true, false]
    }`)
    expect(canonicalJson(value)).toBe(
      String.raw`{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"}`,
    )
  })

  it('sorts keys by UTF-16 code unit: the example of RFC 8785, section 3.2.3 (from memory)', () => {
    const value = {
      '\u20ac': 'Euro Sign',
      '\r': 'Carriage Return',
      '\ufb33': 'Hebrew Letter Dalet With Dagesh',
      '1': 'One',
      '\ud83d\ude00': 'Emoji: Grinning Face',
      '\u0080': 'Control',
      '\u00f6': 'Latin Small Letter O With Diaeresis',
    }
    // An emoji begins with the code unit D83D, so it comes before FB33 though its code point is higher.
    expect([...canonicalJson(value).matchAll(/:"([^"]*)"/g)].map((m) => m[1])).toEqual([
      'Carriage Return',
      'One',
      'Control',
      'Latin Small Letter O With Diaeresis',
      'Euro Sign',
      'Emoji: Grinning Face',
      'Hebrew Letter Dalet With Dagesh',
    ])
  })

  it('gives one text for equal values however they were put together', () => {
    expect(canonicalJson({ b: [1, { d: undefined, c: null }], a: 'x' })).toBe(
      canonicalJson({ a: 'x', b: [1, { c: null }] }),
    )
  })
})

describe('SHA-256', () => {
  it('agrees with the examples of FIPS 180-4', () => {
    expect(sha256Hex('abc')).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad')
    expect(sha256Hex('abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq')).toBe(
      '248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1',
    )
    expect(sha256Hex('')).toBe('e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855')
  })
})
