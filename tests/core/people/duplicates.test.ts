import { describe, expect, it } from 'vitest'
import { seededRandom } from '@/lib/kernel/random'
import { likelyPairs, plainAddress, plainPhone, type Somebody } from '@/lib/people/core/duplicates'
import { jaro, jaroWinkler } from '@/lib/people/core/similarity'

// The values of the literature (Winkler 1990 and the Census Bureau's tables), from memory.
describe('Jaro and Jaro–Winkler', () => {
  it.each([
    ['MARTHA', 'MARHTA', 0.9444, 0.9611],
    ['DWAYNE', 'DUANE', 0.8222, 0.84],
    ['DIXON', 'DICKSONX', 0.7667, 0.8133],
    ['JELLYFISH', 'SMELLYFISH', 0.8963, 0.8963],
  ])('%s and %s have the published values', (a, b, plain, winkler) => {
    expect(jaro(a, b)).toBeCloseTo(plain, 4)
    expect(jaroWinkler(a, b)).toBeCloseTo(winkler, 4)
    expect(jaroWinkler(b, a)).toBeCloseTo(winkler, 4)
  })

  it('are 1 for equal texts and 0 where nothing agrees', () => {
    expect([jaro('', ''), jaro('a', 'a'), jaro('abc', 'xyz'), jaro('', 'a')]).toEqual([1, 1, 0, 0])
  })
})

const somebody = (key: string, more: Partial<Somebody> = {}): Somebody => ({
  key,
  givenName: 'Martha',
  familyName: 'Jones',
  birthYear: 1951,
  email: null,
  phone: null,
  address: null,
  ...more,
})

describe('likely pairs', () => {
  const found = (a: Partial<Somebody>, b: Partial<Somebody>) =>
    likelyPairs([somebody('a', a), somebody('b', b)]).map((p) => p.agree)

  it('finds a name that is misspelt, with the same birth year', () => {
    expect(found({}, { givenName: 'Marhta' })).toEqual([['name', 'birthYear']])
  })
  it('finds names that stand the wrong way round', () => {
    expect(found({}, { givenName: 'Jones', familyName: 'Martha' })).toEqual([['name', 'birthYear']])
  })
  it('finds a telephone written another way, and accents', () => {
    expect(
      found(
        { familyName: 'Muñoz', birthYear: null, phone: '+1 (555) 010-1234' },
        { familyName: 'Munoz', phone: '555.010.1234' },
      ),
    ).toEqual([['name', 'phone']])
  })
  it('does not take a couple at one address with one telephone for one person', () => {
    const home = { address: '1 Hill Rd', phone: '5550101234' }
    expect(found(home, { ...home, givenName: 'Peter', birthYear: 1949 })).toEqual([])
  })
  it('does not take a father and a son of one name for one person', () => {
    expect(found({ address: '1 Hill Road' }, { birthYear: 1982, address: '1 Hill Rd' })).toEqual([])
  })
  it('does not take people for one who share a name alone', () => {
    expect(found({ birthYear: null }, {})).toEqual([])
  })
  it('compares new people with known ones, and known ones not among themselves', () => {
    const pairs = likelyPairs([somebody('new')], [somebody('k1'), somebody('k2')])
    expect(pairs.map((p) => [p.first, p.second])).toEqual([
      ['new', 'k1'],
      ['new', 'k2'],
    ])
  })
  it('writes addresses and telephones in one way', () => {
    expect(plainAddress('12 North Main Street, Apartment 4')).toBe('12 n main st apt 4')
    expect([plainPhone('1-555-010-1234'), plainPhone('911'), plainPhone(null)]).toEqual([
      '5550101234',
      null,
      null,
    ])
  })

  it('finds every planted pair among 30,000 new and 30,000 known people in good time', () => {
    const random = seededRandom(8)
    const syllables = [
      'ka',
      'lo',
      'mer',
      'tin',
      'sa',
      'ro',
      'bel',
      'dun',
      'vi',
      'wes',
      'nor',
      'ha',
      'qui',
      'zet',
    ]
    const word = (n: number) => Array.from({ length: n }, () => random.pick(syllables)).join('')
    const make = (key: string): Somebody =>
      somebody(key, {
        givenName: word(2),
        familyName: word(3),
        birthYear: 1940 + random.below(60),
        phone: `555${String(random.below(1e7)).padStart(7, '0')}`,
      })
    const known = Array.from({ length: 30_000 }, (_, i) => make(`k${i}`))
    const fresh = Array.from({ length: 30_000 }, (_, i) => make(`n${i}`))
    for (let i = 0; i < 500; i++) {
      const twin = known[i * 7]!
      const name = twin.familyName
      fresh[i] = {
        ...twin,
        key: `n${i}`,
        familyName: `${name.slice(0, 4)}${name[5] ?? ''}${name[4] ?? ''}${name.slice(6)}`,
        phone: null,
      }
    }
    const began = performance.now()
    const pairs = likelyPairs(fresh, known)
    const seconds = (performance.now() - began) / 1000
    const keys = new Set(pairs.map((p) => `${p.first} ${p.second}`))
    const missed = Array.from({ length: 500 }, (_, i) => `n${i} k${i * 7}`).filter((k) => !keys.has(k))
    expect(missed).toEqual([])
    expect(seconds).toBeLessThan(30)
    console.log(`${pairs.length} pairs in ${seconds.toFixed(1)} s`)
  })
})
