import { describe, expect, it } from 'vitest'
import { seededRandom, seedOf } from '@/lib/kernel/random'

describe('seedOf', () => {
  it('agrees with the published FNV-1a 32-bit test vectors (from memory of the FNV draft)', () => {
    expect(seedOf('')).toBe(0x811c9dc5)
    expect(seedOf('a')).toBe(0xe40c292c)
    expect(seedOf('b')).toBe(0xe70c2de5)
    expect(seedOf('foobar')).toBe(0xbf9cf968)
  })
})

/** The generator again, in whole-number arithmetic of any length: a second way to the same words. */
function* slowWords(seed: number): Generator<bigint> {
  const mask = 0xffffffffn
  for (let state = BigInt(seed); ; ) {
    state = (state + 0x6d2b79f5n) & mask
    let t = state
    t = ((t ^ (t >> 15n)) * (t | 1n)) & mask
    t ^= (t + (((t ^ (t >> 7n)) * (t | 61n)) & mask)) & mask
    yield t ^ (t >> 14n)
  }
}

describe('seededRandom', () => {
  it.each([0, 1, 42, 0xffffffff])('gives the words of big-integer arithmetic for seed %i', (seed) => {
    const random = seededRandom(seed)
    const words = slowWords(seed)
    for (let i = 0; i < 1000; i++) expect(random.next() * 2 ** 32).toBe(Number(words.next().value))
  })

  it('spreads evenly: chi-square of ten bins within its 99.9 % limit', () => {
    const random = seededRandom(seedOf('even'))
    const bins = Array<number>(10).fill(0)
    for (let i = 0; i < 100_000; i++) bins[random.below(10)]!++
    const chi = bins.reduce((sum, n) => sum + (n - 10_000) ** 2 / 10_000, 0)
    // Upper 0.1 % point of chi-square with 9 degrees of freedom: 27.877 (any statistical table).
    expect(chi).toBeLessThan(27.877)
  })

  it('shuffles every order of three equally often', () => {
    const random = seededRandom(seedOf('orders'))
    const seen = new Map<string, number>()
    for (let i = 0; i < 60_000; i++) {
      const order = random.shuffle(['a', 'b', 'c']).join('')
      seen.set(order, (seen.get(order) ?? 0) + 1)
    }
    expect(seen.size).toBe(6)
    const chi = [...seen.values()].reduce((sum, n) => sum + (n - 10_000) ** 2 / 10_000, 0)
    // Upper 0.1 % point with 5 degrees of freedom: 20.515.
    expect(chi).toBeLessThan(20.515)
  })

  it('leaves what it shuffles as it was, and refuses to pick from nothing', () => {
    const items = [1, 2, 3, 4, 5]
    expect(seededRandom(1).shuffle(items).sort()).toEqual([1, 2, 3, 4, 5])
    expect(items).toEqual([1, 2, 3, 4, 5])
    expect(() => seededRandom(1).pick([])).toThrow(RangeError)
  })
})
