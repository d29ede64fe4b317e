import { atOnce, type Slices } from '@/lib/kernel/slices'
import { jaroWinkler } from './similarity'

/** Who may be the same person twice. A list for somebody to look at, never a decision. */

export interface Somebody {
  /** Key of the caller: a row, an id. */
  key: string
  givenName: string
  familyName: string
  birthYear: number | null
  email: string | null
  phone: string | null
  address: string | null
}

export type Agreement = 'name' | 'familyName' | 'birthYear' | 'email' | 'phone' | 'address'

export interface LikelyPair {
  first: string
  second: string
  /** Jaro–Winkler similarity of the whole names, either way round. */
  nameSimilarity: number
  agree: Agreement[]
}

/** Names and addresses this alike count as agreeing. The bounds are ours: common practice is 0.9 to 0.95. */
export const ALIKE = 0.92
const ALIKE_ADDRESS = 0.95
/** In a group larger than this only neighbours in the order of names are compared (the sorted-neighbourhood method:
 *  Hernández & Stolfo 1995, SIGMOD, 127–138). */
const LARGE_GROUP = 120
const NEIGHBOURS = 20
/** People read, or pairs compared, without a pause: a few milliseconds. */
const SLICE = 1000

const letters = (text: string) =>
  text
    .normalize('NFD')
    .replace(/[^\p{L}\p{N}\s]/gu, '')
    .toLowerCase()
    .trim()
    .replace(/\s+/g, ' ')

const SHORT_WORDS: Record<string, string> = {
  street: 'st',
  avenue: 'ave',
  road: 'rd',
  drive: 'dr',
  lane: 'ln',
  court: 'ct',
  boulevard: 'blvd',
  highway: 'hwy',
  place: 'pl',
  north: 'n',
  south: 's',
  east: 'e',
  west: 'w',
  apartment: 'apt',
}

/** An address in the short words of the mail. */
export const plainAddress = (text: string): string =>
  letters(text)
    .split(' ')
    .map((word) => SHORT_WORDS[word] ?? word)
    .join(' ')

/** The last ten digits: with or without the country's 1. Null for fewer than seven. */
export function plainPhone(text: string | null): string | null {
  const digits = (text ?? '').replace(/\D/g, '')
  return digits.length < 7 ? null : digits.slice(-10)
}

interface Plain {
  key: string
  given: string
  family: string
  forward: string
  backward: string
  birthYear: number | null
  email: string | null
  phone: string | null
  address: string | null
}

function plain(person: Somebody): Plain {
  const given = letters(person.givenName)
  const family = letters(person.familyName)
  return {
    key: person.key,
    given,
    family,
    forward: `${given} ${family}`,
    backward: `${family} ${given}`,
    birthYear: person.birthYear,
    email: person.email?.trim().toLowerCase() || null,
    phone: plainPhone(person.phone),
    address: person.address ? plainAddress(person.address) || null : null,
  }
}

/** Two people are compared only where one of these is equal: family name's beginning and birth year (either name, for
 *  swapped ones), beginnings of both names, e-mail, telephone. */
function blocksOf(p: Plain): string[] {
  const keys = [`n ${p.family.slice(0, 3)} ${p.given.slice(0, 2)}`]
  if (p.birthYear !== null)
    keys.push(`y ${p.family.slice(0, 4)} ${p.birthYear}`, `y ${p.given.slice(0, 4)} ${p.birthYear}`)
  if (p.email) keys.push(`e ${p.email}`)
  if (p.phone) keys.push(`p ${p.phone}`)
  return keys
}

function compare(a: Plain, b: Plain): LikelyPair | null {
  const facts = (['birthYear', 'email', 'phone'] as const).filter((k) => a[k] !== null && a[k] === b[k])
  // A family shares its name, address and telephone; years far apart are two people unless the e-mail says otherwise.
  const yearsDiffer = a.birthYear !== null && b.birthYear !== null && Math.abs(a.birthYear - b.birthYear) > 1
  if (yearsDiffer && !facts.includes('email')) return null
  if (facts.length === 0 && !(a.address && b.address)) return null
  const nameSimilarity = Math.max(jaroWinkler(a.forward, b.forward), jaroWinkler(a.forward, b.backward))
  const sameName = nameSimilarity >= ALIKE
  if (!sameName && (!facts.includes('birthYear') || a.given[0] !== b.given[0])) return null
  if (!sameName && jaroWinkler(a.family, b.family) < ALIKE) return null
  const agree: Agreement[] = [sameName ? 'name' : 'familyName', ...facts]
  if (a.address && b.address && jaroWinkler(a.address, b.address) >= ALIKE_ADDRESS) agree.push('address')
  if (agree.length < (sameName ? 2 : 3)) return null
  return { first: a.key, second: b.key, nameSimilarity: Math.round(nameSimilarity * 1e4) / 1e4, agree }
}

/** Likely pairs: each of `people` with each other and with each of `known` (who are not compared among themselves;
 *  leave it out for all with all). Alike names (Jaro–Winkler ≥ 0.92) with birth year, e-mail, telephone or address in
 *  common; or the same family name and initial with birth year and one more. Most agreements first. Blocking keeps it
 *  near O(n · log n): 30,000 with 30,000 take seconds. */
export const likelyPairs = (people: readonly Somebody[], known: readonly Somebody[] = []): LikelyPair[] =>
  atOnce(comparePairs(people, known))

/** The same in slices. */
export function* comparePairs(
  people: readonly Somebody[],
  known: readonly Somebody[] = [],
): Slices<LikelyPair[]> {
  const all: Plain[] = []
  const blocks = new Map<string, number[]>()
  for (const list of [people, known])
    for (const person of list) {
      const i = all.push(plain(person)) - 1
      for (const key of new Set(blocksOf(all[i]!))) {
        const block = blocks.get(key)
        if (block) block.push(i)
        else blocks.set(key, [i])
      }
      if (i % SLICE === 0) yield
    }
  const pairs = new Map<number, LikelyPair>()
  const tried = new Set<number>()
  for (const members of blocks.values()) {
    if (members.length < 2 || members[0]! >= people.length) continue
    const large = members.length > LARGE_GROUP
    if (large) members.sort((x, y) => (all[x]!.forward < all[y]!.forward ? -1 : 1))
    for (let x = 0; x < members.length; x++) {
      const end = large ? Math.min(members.length, x + 1 + NEIGHBOURS) : members.length
      for (let y = x + 1; y < end; y++) {
        const i = Math.min(members[x]!, members[y]!)
        const j = Math.max(members[x]!, members[y]!)
        if (i >= people.length) continue
        const pairKey = i * all.length + j
        if (tried.has(pairKey)) continue
        tried.add(pairKey)
        if (tried.size % SLICE === 0) yield
        const pair = compare(all[i]!, all[j]!)
        if (pair) pairs.set(pairKey, pair)
      }
    }
  }
  return [...pairs.values()].sort(
    (p, q) => q.agree.length - p.agree.length || q.nameSimilarity - p.nameSimilarity,
  )
}
