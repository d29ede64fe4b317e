/** The checker's own least value of one crew at given prices, nobody in two seats (see verify.ts). Written without the
 *  solver's tables: people in sorted lists, states in a map, and whoever two pools of seats take is kept out of the one
 *  or of all others, as often as it takes. */
import type { Kind } from './verify-reader'

const INF = Number.POSITIVE_INFINITY

type Who = Kind['who'][number]
type Role = 'first' | 'judged' | 'free'

interface Priced {
  id: string
  party: number
  ways: number
  price: number
}

/** Seats that the same people may take at the same price. */
export interface Pool {
  kind: Kind
  role: Role
  /** By price. */
  people: Priced[]
  /** Do its people bring a party difference? */
  counts: boolean
  /** In the order in which they are best filled. */
  seats: { must: boolean; gain: number }[]
}

export interface PoolTerms {
  /** `first`: its party is judged against that of the pool `judged`. */
  role(kind: Kind): Role
  counts(kind: Kind): boolean
  price(who: Who, kind: Kind): number
  party(who: Who): number
  gain(kind: Kind): number
  mustBeFull(kind: Kind): boolean
}

export interface CrewRules {
  partiesMatter: boolean
  /** Bit of `ways` of the half of the day whose balance is looked at, and of the other. */
  judgedHalf: number
  otherHalf: number
  /** Of locked members: the difference of the two parties, and the party that a duty is judged against (−1: none). */
  start: { d: number; lead: number }
  samePartyPrice: number
  excessPrice(difference: number): number
}

export function poolsOf(kinds: readonly Kind[], terms: PoolTerms): Pool[] {
  const pools: Pool[] = []
  for (const kind of kinds) {
    const role = terms.role(kind)
    let pool = pools.find((p) => role === 'free' && p.role === 'free' && areAlike(p.kind, kind))
    if (!pool) {
      pool = { kind, role, people: pricedPeople(kind, terms), counts: terms.counts(kind), seats: [] }
      pools.push(pool)
    }
    const seat = { must: terms.mustBeFull(kind), gain: terms.gain(kind) }
    pool.seats.push(...kind.seats.map(() => seat))
  }
  for (const { seats } of pools) seats.sort((x, y) => Number(y.must) - Number(x.must) || y.gain - x.gain)
  return ['first', 'judged', 'free'].flatMap((role) => pools.filter((p) => p.role === role))
}

const areAlike = (a: Kind, b: Kind): boolean =>
  a.seats[0]!.shift === b.seats[0]!.shift &&
  a.who.length === b.who.length &&
  a.who.every((w, i) => {
    const v = b.who[i]!
    return w.person === v.person && w.cost === v.cost && w.ways === v.ways
  })

function pricedPeople(kind: Kind, terms: PoolTerms): Priced[] {
  const people = kind.who.map((w) => ({
    id: w.person.id,
    party: terms.party(w),
    ways: w.ways,
    price: terms.price(w, kind),
  }))
  return people.sort((x, y) => x.price - y.price)
}

/** Infinity where seats that must be full can't be. */
export function leastOf(pools: readonly Pool[], rules: CrewRules): number {
  const tryWith = (banned: readonly ReadonlySet<string>[]) => ({
    banned,
    ...leastWithRepeats(pools, banned, rules),
  })
  const open = [tryWith(pools.map(() => new Set<string>()))]
  for (;;) {
    open.sort((x, y) => y.value - x.value)
    const least = open.pop()!
    const twice = takenTwice(least.taken)
    if (!twice) return least.value
    // Whoever is taken twice either stays out of the one pool or out of all others.
    for (const out of [true, false])
      open.push(
        tryWith(
          least.banned.map((set, i) => ((i === twice.pool) === out ? new Set([...set, twice.id]) : set)),
        ),
      )
  }
}

function takenTwice(taken: readonly Priced[][]): { id: string; pool: number } | null {
  const poolOf = new Map<string, number>()
  for (const [i, people] of taken.entries())
    for (const { id } of people) {
      const other = poolOf.get(id)
      if (other !== undefined && other !== i) return { id, pool: other }
      poolOf.set(id, i)
    }
  return null
}

interface Option {
  d: number
  /** The party that all taken belong to; −1: none taken, or several parties. */
  party: number
  value: number
  taken: Priced[]
}

interface Reached {
  d: number
  lead: number
  value: number
  taken: readonly Priced[][]
}

function leastWithRepeats(
  pools: readonly Pool[],
  banned: readonly ReadonlySet<string>[],
  rules: CrewRules,
): { value: number; taken: readonly Priced[][] } {
  let table = new Map<string, Reached>()
  table.set('start', { ...rules.start, value: 0, taken: [] })
  pools.forEach((pool, i) => {
    const people = pool.people.filter((p) => !banned[i]!.has(p.id))
    const options = rules.partiesMatter ? byParty(pool, people, rules) : byCost(pool, people)
    const next = new Map<string, Reached>()
    for (const from of table.values())
      for (const option of options) {
        let lead = from.lead
        let value = from.value + option.value
        if (pool.role === 'first') lead = option.party
        else if (pool.role === 'judged') {
          if (option.party >= 0 && option.party === from.lead) value += rules.samePartyPrice
          lead = -1
        }
        const d = from.d + option.d
        const key = `${d}|${lead}`
        const old = next.get(key)
        if (!old || value < old.value) next.set(key, { d, lead, value, taken: [...from.taken, option.taken] })
      }
    table = next
  })
  let best: { value: number; taken: readonly Priced[][] } = { value: INF, taken: [] }
  for (const { d, value, taken } of table.values()) {
    const total = value + rules.excessPrice(d)
    if (total < best.value) best = { value: total, taken }
  }
  return best
}

const sumOf = (list: readonly { price: number }[]) => list.reduce((sum, p) => sum + p.price, 0)

/** So many of each party, each time the cheapest; so many of them share their day, with the cheapest of the other half. A
 *  shared day counts with the party of its judged half; as lead's or deputy's it counts as of several parties. */
function byParty({ seats, counts }: Pool, people: readonly Priced[], rules: CrewRules): Option[] {
  const able = (bit: number, party: number) =>
    people.filter((p) => (p.ways & bit) !== 0 && p.party === party).slice(0, seats.length)
  const partners = people.filter((p) => (p.ways & rules.otherHalf) !== 0).slice(0, seats.length)
  /** Ways to take people of one party: so many for the whole day, so many who share theirs. */
  const waysOf = (party: number) => {
    const whole = able(1, party)
    const halves = able(rules.judgedHalf, party)
    const ways: { n: number; shared: number; taken: Priced[] }[] = []
    for (let alone = 0; alone <= whole.length; alone++)
      for (let shared = 0; shared <= halves.length && alone + shared <= seats.length; shared++)
        ways.push({
          n: alone + shared,
          shared,
          taken: [...whole.slice(0, alone), ...halves.slice(0, shared)],
        })
    return ways
  }
  const [first, second, others] = [waysOf(0), waysOf(1), waysOf(2)]
  const options: Option[] = []
  for (const a of first)
    for (const b of second)
      for (const o of others) {
        const n = a.n + b.n + o.n
        const shared = a.shared + b.shared + o.shared
        if (n > seats.length || shared > partners.length || seats[n]?.must) continue
        const taken = [...a.taken, ...b.taken, ...o.taken, ...partners.slice(0, shared)]
        const gain = seats.slice(0, n).reduce((sum, s) => sum + s.gain, 0)
        const party = n === 0 || shared > 0 ? -1 : n === a.n ? 0 : n === b.n ? 1 : -1
        options.push({ d: counts ? a.n - b.n : 0, party, value: sumOf(taken) - gain, taken })
      }
  return options
}

/** The cheapest, whole days and shared ones merged. */
function byCost({ seats }: Pool, people: readonly Priced[]): Option[] {
  const ways = (bit: number) => people.filter((p) => (p.ways & bit) !== 0).slice(0, seats.length)
  const afternoons = ways(4)
  const shared = ways(2).flatMap((m, i) => (i < afternoons.length ? [[m, afternoons[i]!]] : []))
  const fillings = [...ways(1).map((w) => [w]), ...shared].sort((x, y) => sumOf(x) - sumOf(y))
  const best: Option = { d: 0, party: -1, value: INF, taken: [] }
  let value = 0
  for (let n = 0; n <= Math.min(seats.length, fillings.length); n++) {
    if (n > 0) value += sumOf(fillings[n - 1]!) - seats[n - 1]!.gain
    if (seats[n]?.must || value >= best.value) continue
    best.value = value
    best.taken = fillings.slice(0, n).flat()
  }
  return [best]
}
