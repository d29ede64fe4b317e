/** An independent checker of roster results. It reads the instance itself and shares no code with the solver but the
 *  distance formula and the interval test: feasibility, the value of each level, and the bounds recomputed from the
 *  proof (covers at level 1, prices at every level). A claim it can't confirm is a problem; a level closed by search
 *  is named in `notRepeated`. O(seat kinds × people + crews × seats³).
 *
 *  The bound is the one defined at the head of bound.ts, recomputed here crew by crew with a plain table over
 *  (party difference, leads' party). */
import { holdsOn } from '@/lib/kernel/spans'
import { distanceKm } from '@/lib/places/core/distance'
import type { BoundPrices, RosterInstance, RosterPerson, RosterResult, RosterSeat, Seating } from '../schema'

export interface Verdict {
  ok: boolean
  problems: { where: string; message: string }[]
  /** Recomputed values: level 1 by class, levels 2 and 3. */
  values: { seats: number[]; violations: number; cost: number }
  /** Recomputed bounds; null where no proof was given. */
  bounds: { seats: (number | null)[]; violations: number | null; cost: number | null }
  /** Levels whose closing rests on a search that this checker doesn't repeat. */
  notRepeated: number[]
}

interface Kind {
  seats: RosterSeat[]
  priority: number
  crew: string
  /** Eligible people on the date, unlocked: bit 0 whole (or the seat's half), bit 1 morning, bit 2 afternoon. */
  who: { person: RosterPerson; cost: number; ways: number }[]
}

const TIERS = ['lead', 'minimum', 'rest']

class Reader {
  readonly seats: Map<string, RosterSeat>
  readonly people: Map<string, RosterPerson>
  readonly classKeys: string[]
  readonly lockedSeats: Set<string>
  private readonly places: Map<string, RosterInstance['places'][number]>
  private readonly currentSpots = new Map<string, Set<string>>()

  constructor(readonly instance: RosterInstance) {
    this.seats = new Map(instance.seats.map((s) => [s.id, s]))
    this.people = new Map(instance.people.map((p) => [p.id, p]))
    this.places = new Map(instance.places.map((p) => [p.id, p]))
    this.lockedSeats = new Set(instance.locks.map((l) => l.seatId))
    const keys = new Map(
      instance.seats.map((s) => [`${s.tier}/${s.rank}`, TIERS.indexOf(s.tier) * 100 + s.rank]),
    )
    this.classKeys = [...keys].sort((a, b) => a[1] - b[1]).map(([key]) => key)
    for (const c of instance.current) {
      const seat = this.seats.get(c.seatId)
      if (!seat) continue
      const set = this.currentSpots.get(c.personId) ?? new Set()
      set.add(this.spot(seat))
      this.currentSpots.set(c.personId, set)
    }
  }

  classOf = (seat: RosterSeat) => this.classKeys.indexOf(`${seat.tier}/${seat.rank}`)
  crewOf = (seat: RosterSeat) => `${seat.placeId}|${seat.precinctId ?? ''}|${seat.date}`
  private spot = (seat: RosterSeat) => `${this.crewOf(seat)}|${seat.position}|${seat.shift}`

  metres(person: RosterPerson, seat: RosterSeat): number {
    const to = this.places.get(seat.placeId)!.at
    return person.at === null || to === null ? 0 : Math.round(distanceKm(person.at, to) * 1000)
  }

  cost(person: RosterPerson, seat: RosterSeat): number {
    const c = this.instance.costs
    let sum = this.metres(person, seat) * c.perTravelMetre
    if (person.lastPlaceId !== null && person.lastPlaceId !== seat.placeId) sum += c.notReturning
    if (person.preferredPlaces.length > 0 && !person.preferredPlaces.includes(seat.placeId))
      sum += c.notPreferred
    if (this.instance.current.length > 0 && !this.currentSpots.get(person.id)?.has(this.spot(seat)))
      sum += c.change
    return sum
  }

  /** Ways in which a person may take a seat: bit 0 alone, bit 1 its morning, bit 2 its afternoon. */
  ways(person: RosterPerson, seat: RosterSeat): number {
    if (person.excluded || person.excludedPlaces.includes(seat.placeId)) return 0
    if (
      seat.certificate !== null &&
      !person.certificates.some((c) => c.key === seat.certificate && holdsOn(c.spans, seat.date))
    )
      return 0
    if (seat.languages.some((l) => !person.languages.includes(l))) return 0
    if (seat.skills.some((s) => !person.skills.includes(s))) return 0
    if (person.experience < seat.minExperience) return 0
    const place = this.places.get(seat.placeId)!
    if (place.residences && !(person.residence !== null && place.residences.includes(person.residence)))
      return 0
    const limits = [person.maxTravelKm, this.instance.rules.maxTravelKm].filter((x) => x !== null)
    if (limits.length > 0 && this.metres(person, seat) > Math.min(...limits) * 1000) return 0
    const shifts =
      person.available === null
        ? ['full']
        : person.available.filter((a) => a.date === seat.date).map((a) => a.shift)
    const half = (name: string) => shifts.includes(name as never) || shifts.includes('either')
    const full = shifts.includes('full')
    if (seat.shift !== 'full') return full || half(seat.shift) ? 1 : 0
    return (full ? 1 : 0) | (half('morning') ? 2 : 0) | (half('afternoon') ? 4 : 0)
  }

  /** Free seats that ask for the same and belong to the same crew, with everybody who may take them. */
  kinds(): Kind[] {
    const lockedOn = new Set(
      this.instance.locks.map((l) => `${l.personId}|${this.seats.get(l.seatId)!.date}`),
    )
    const map = new Map<string, Kind>()
    for (const seat of this.instance.seats) {
      if (this.lockedSeats.has(seat.id)) continue
      const key = JSON.stringify([
        this.crewOf(seat),
        seat.position,
        seat.shift,
        seat.tier,
        seat.rank,
        seat.certificate,
        [...seat.languages].sort(),
        [...seat.skills].sort(),
        seat.minExperience,
        seat.duty,
      ])
      const kind = map.get(key)
      if (kind) {
        kind.seats.push(seat)
        continue
      }
      const who: Kind['who'] = []
      for (const person of this.instance.people) {
        const ways = this.ways(person, seat)
        if (ways > 0 && !lockedOn.has(`${person.id}|${seat.date}`))
          who.push({ person, cost: this.cost(person, seat), ways })
      }
      map.set(key, { seats: [seat], priority: this.classOf(seat), crew: this.crewOf(seat), who })
    }
    return [...map.values()]
  }
}

/** Values of any roster, and what is wrong with it: the checker's first half, for oracles and boards. */
export function evaluateRoster(
  instance: RosterInstance,
  seatings: Seating[],
): { values: Verdict['values']; problems: Verdict['problems'] } {
  const problems: Verdict['problems'] = []
  const seated = new Set(seatings.map((s) => s.seatId))
  const empty = instance.seats.filter((s) => !seated.has(s.id)).map((s) => s.id)
  const values = checkRoster(new Reader(instance), { seatings, empty }, (where, message) =>
    problems.push({ where, message }),
  )
  return { values, problems }
}

/** Ways in which a person may take a seat, by the checker's own reading: bit 0 alone, bit 1 morning, bit 2 afternoon. */
export function waysToServe(instance: RosterInstance, personId: string, seatId: string): number {
  const reader = new Reader(instance)
  return reader.ways(reader.people.get(personId)!, reader.seats.get(seatId)!)
}

/** Checks a result against its instance. Never throws for a wrong result: it says what is wrong. */
export function verifyRoster(instance: RosterInstance, result: RosterResult): Verdict {
  const problems: Verdict['problems'] = []
  const say = (where: string, message: string) => problems.push({ where, message })
  const reader = new Reader(instance)
  const values = checkRoster(reader, result, say)
  const kinds = reader.kinds()
  const total = (upTo: number) => values.seats.slice(0, upTo + 1).reduce((a, b) => a + b, 0)
  const lockedFilled = reader.classKeys.map(
    (_, k) => [...reader.lockedSeats].filter((id) => reader.classOf(reader.seats.get(id)!) === k).length,
  )

  // Level 1.
  const seatBounds: (number | null)[] = reader.classKeys.map((_, k) => {
    let best: number | null = null
    const cover = result.proof.covers[k]
    if (cover) {
      const size = coverSize(kinds, cover, k, say)
      if (size !== null) best = size + lockedFilled.slice(0, k + 1).reduce((a, b) => a + b, 0)
    }
    const priced = result.proof.level1[k]
    if (priced) {
      const earn = reader.classKeys.map((_, j) => (j <= k ? priced.scale : 0))
      const value = lagrangian(reader, kinds, priced, {
        costFactor: 0,
        ownViolation: 0,
        allowed: null,
        filled: reader.classKeys.map(() => null),
        earn,
        lockedFilled,
        lockedCost: 0,
      })
      const bound = Math.floor(-value / priced.scale + 1e-9)
      if (best === null || bound < best) best = bound
    }
    return best
  })
  const report = (level: number) => result.levels.find((l) => l.level === level)
  const notRepeated: number[] = []
  const one = report(1)
  if (!one) say('levels', 'level 1 is missing')
  else {
    if (String(one.value) !== String(values.seats))
      say('levels.1.value', `is ${one.value}, recomputed ${values.seats}`)
    let gap = 0
    one.bound?.forEach((claimed, k) => {
      gap = Math.max(gap, claimed - total(k))
      if (claimed < total(k)) say('levels.1.bound', `class ${k}: below the seats filled`)
      if (one.closedBy !== 'search' && (seatBounds[k] === null || claimed < seatBounds[k]!))
        say('levels.1.bound', `class ${k}: claims at most ${claimed}, the proof gives ${seatBounds[k]}`)
    })
    if (!one.bound || one.bound.length !== reader.classKeys.length)
      say('levels.1.bound', 'one entry a class is needed')
    if (one.gap !== gap) say('levels.1.gap', `is ${one.gap}, recomputed ${gap}`)
    if (one.closedBy === 'duals' && gap !== 0) say('levels.1.closedBy', 'claims closed with a gap')
    if (one.closedBy === 'search') notRepeated.push(1)
  }

  // Levels 2 and 3.
  const filled = values.seats
  const base = { filled, earn: filled.map(() => 0), lockedFilled }
  let violationBound: number | null = 0
  if (result.proof.level2) {
    const value = lagrangian(reader, kinds, result.proof.level2, {
      ...base,
      costFactor: 0,
      ownViolation: result.proof.level2.scale,
      allowed: null,
      lockedCost: 0,
    })
    violationBound = Math.max(0, Math.ceil(value / result.proof.level2.scale - 1e-9))
  }
  let costBound: number | null = null
  if (result.proof.level3) {
    const lockedCost = instance.locks.reduce(
      (sum, l) => sum + reader.cost(reader.people.get(l.personId)!, reader.seats.get(l.seatId)!),
      0,
    )
    const value = lagrangian(reader, kinds, result.proof.level3, {
      ...base,
      costFactor: 1,
      ownViolation: 0,
      allowed: values.violations,
      lockedCost,
    })
    costBound = Math.max(0, Math.ceil(value - 1e-6))
  }
  for (const [level, value, bound] of [
    [2, values.violations, violationBound],
    [3, values.cost, costBound],
  ] as const) {
    const r = report(level)
    if (!r) {
      say('levels', `level ${level} is missing`)
      continue
    }
    if (r.value.length !== 1 || r.value[0] !== value)
      say(`levels.${level}.value`, `is ${r.value}, recomputed ${value}`)
    if (r.closedBy === 'search') notRepeated.push(level)
    if (!r.bound) continue
    if (r.bound[0]! > value) say(`levels.${level}.bound`, 'lies above the value')
    if (r.closedBy !== 'search' && (bound === null || r.bound[0]! > bound))
      say(`levels.${level}.bound`, `claims at least ${r.bound[0]}, the proof gives ${bound}`)
    const gap = level === 2 ? value - r.bound[0]! : value === 0 ? 0 : (value - r.bound[0]!) / value
    if (r.gap === null || Math.abs(r.gap - gap) > 1e-9)
      say(`levels.${level}.gap`, `is ${r.gap}, recomputed ${gap}`)
    if ((r.closedBy === 'duals' || r.closedBy === 'search') && r.bound[0] !== value)
      say(`levels.${level}.closedBy`, 'claims closed with a gap')
  }
  if (result.status === 'optimal' && result.levels.some((l) => l.gap !== 0))
    say('status', 'claims optimal while a level is open')
  return {
    ok: problems.length === 0,
    problems,
    values,
    bounds: { seats: seatBounds, violations: violationBound, cost: costBound },
    notRepeated,
  }
}

/** Feasibility and the three values. */
function checkRoster(
  reader: Reader,
  result: { seatings: Seating[]; empty: string[] },
  say: (where: string, message: string) => void,
): Verdict['values'] {
  const { instance } = reader
  const bySeat = new Map<string, Seating[]>()
  const busy = new Set<string>()
  const lockKeys = new Set(
    instance.locks.map((l) => {
      const seat = reader.seats.get(l.seatId)!
      return `${l.seatId}|${l.personId}|${seat.shift === 'full' ? l.half : seat.shift}`
    }),
  )
  const present = new Set<string>()
  let cost = 0
  result.seatings.forEach((s, i) => {
    const where = `seatings.${i}`
    const seat = reader.seats.get(s.seatId)
    const person = reader.people.get(s.personId)
    if (!seat || !person) {
      say(where, 'names no known seat or person')
      return
    }
    bySeat.set(s.seatId, [...(bySeat.get(s.seatId) ?? []), s])
    const day = `${s.personId}|${seat.date}`
    if (busy.has(day)) say(where, `${s.personId} serves twice on ${seat.date}`)
    busy.add(day)
    present.add(`${s.seatId}|${s.personId}|${s.half}`)
    const way = seat.shift !== 'full' || s.half === 'full' ? 1 : s.half === 'morning' ? 2 : 4
    if (!lockKeys.has(`${s.seatId}|${s.personId}|${s.half}`) && (reader.ways(person, seat) & way) === 0)
      say(where, `${s.personId} isn't eligible for ${s.seatId} (${s.half})`)
    cost += reader.cost(person, seat)
  })
  for (const key of lockKeys) if (!present.has(key)) say('seatings', `the lock ${key} isn't kept`)
  const seats = reader.classKeys.map(() => 0)
  const emptySet = new Set(result.empty)
  for (const seat of instance.seats) {
    const list = bySeat.get(seat.id) ?? []
    if (list.length === 0) {
      if (!emptySet.has(seat.id)) say('empty', `${seat.id} is empty but not listed`)
      continue
    }
    if (emptySet.has(seat.id)) say('empty', `${seat.id} is listed but filled`)
    const halves = list
      .map((s) => s.half)
      .sort()
      .join('+')
    if (halves !== seat.shift && !(seat.shift === 'full' && halves === 'afternoon+morning'))
      say('seatings', `${seat.id} is filled by ${halves}`)
    else {
      const k = reader.classOf(seat)
      seats[k] = seats[k]! + 1
    }
  }
  return { seats, violations: countViolations(reader, result.seatings, say), cost }
}

function countViolations(
  reader: Reader,
  seatings: Seating[],
  say: (where: string, message: string) => void,
): number {
  const { rules } = reader.instance
  const crews = new Map<string, { seat: RosterSeat; person: RosterPerson; half: string }[]>()
  for (const seat of reader.instance.seats) crews.set(reader.crewOf(seat), [])
  const where = new Map<string, string>()
  for (const s of seatings) {
    const seat = reader.seats.get(s.seatId)
    const person = reader.people.get(s.personId)
    if (!seat || !person) continue
    crews.get(reader.crewOf(seat))!.push({ seat, person, half: s.half })
    where.set(`${person.id}|${seat.date}`, seat.placeId)
  }
  let sum = 0
  for (const [key, members] of crews) {
    const [placeId, precinct] = key.split('|')
    if (rules.balance) {
      const { parties, maxDifference } = rules.balance
      const excessOf = (list: typeof members) => {
        let excess = 0
        for (const other of ['afternoon', 'morning']) {
          const here = list.filter((m) => m.half !== other)
          const difference = Math.abs(
            here.filter((m) => m.person.party === parties[0]).length -
              here.filter((m) => m.person.party === parties[1]).length,
          )
          excess = Math.max(excess, difference - maxDifference)
        }
        return excess
      }
      const excess = excessOf(members)
      if (rules.balance.mode === 'hard') {
        if (excess > excessOf(members.filter((m) => reader.lockedSeats.has(m.seat.id))))
          say('seatings', `the crew ${key} breaks the hard balance by ${excess}`)
      } else sum += rules.balance.weight * excess
      const duties = members.filter((m) => m.seat.duty !== null)
      const one = new Set(duties.map((m) => m.person.party))
      const [party] = [...one]
      if (
        duties.some((m) => m.seat.duty === 'lead') &&
        duties.some((m) => m.seat.duty === 'deputy') &&
        one.size === 1 &&
        parties.includes(party as string)
      )
        sum += rules.leadDeputySameParty
    }
    for (const m of rules.minimums) {
      if (m.placeId !== null && m.placeId !== placeId) continue
      if (m.precinctId !== null && m.precinctId !== (precinct || null)) continue
      const have = members.filter(({ person }) =>
        m.kind === 'language'
          ? person.languages.includes(m.value)
          : m.kind === 'skill'
            ? person.skills.includes(m.value)
            : person.experience >= Number(m.value),
      ).length
      sum += m.weight * Math.max(0, m.count - have)
    }
  }
  const dates = new Set(reader.instance.seats.map((s) => s.date))
  for (const date of dates) {
    for (const pair of rules.keepApart) {
      const [x, y] = pair.people.map((id) => where.get(`${id}|${date}`))
      if (x !== undefined && x === y) sum += pair.weight
    }
    for (const pair of rules.keepTogether) {
      const [x, y] = pair.people.map((id) => where.get(`${id}|${date}`))
      if (x !== undefined && y !== undefined && x !== y) sum += pair.weight
    }
  }
  return sum
}

/** Size of a cover, or null where it misses an eligible pair. */
function coverSize(
  kinds: Kind[],
  cover: RosterResult['proof']['covers'][number],
  upTo: number,
  say: (where: string, message: string) => void,
): number | null {
  const people = new Set(cover.people)
  const seats = new Set(cover.seats)
  const ways = cover.half === 'morning' ? 3 : cover.half === 'afternoon' ? 5 : 7
  for (const kind of kinds) {
    if (kind.priority > upTo) continue
    const bare = kind.seats.find((s) => !seats.has(s.id))
    if (!bare) continue
    const missed = kind.who.find((w) => (w.ways & ways) !== 0 && !people.has(`${w.person.id}|${bare.date}`))
    if (missed) {
      say(`proof.covers.${upTo}`, `misses ${missed.person.id} in ${bare.id}`)
      return null
    }
  }
  return people.size + seats.size
}

interface Terms {
  costFactor: number
  ownViolation: number
  allowed: number | null
  filled: (number | null)[]
  earn: number[]
  lockedFilled: number[]
  lockedCost: number
}

const INF = Number.POSITIVE_INFINITY

/** The Lagrangian value L of bound.ts, from the instance. Prices out of range make it −Infinity (no bound). */
function lagrangian(reader: Reader, kinds: Kind[], prices: BoundPrices, t: Terms): number {
  const { instance } = reader
  const { rules } = instance
  const [partyA, partyB] = rules.balance?.parties ?? [undefined, undefined]
  const party = (p: RosterPerson) =>
    rules.balance && p.party === partyA ? 0 : rules.balance && p.party === partyB ? 1 : 2
  if (Object.values(prices.people).some((x) => !(x >= 0)) || !(prices.violation >= 0)) return -INF
  if (prices.classes.length !== t.earn.length || prices.classes.some((x) => !Number.isFinite(x))) return -INF
  const violationPrice = t.ownViolation + (t.allowed === null ? 0 : prices.violation)
  const perCrew = new Map<string, Kind[]>()
  for (const seat of instance.seats) perCrew.set(reader.crewOf(seat), [])
  for (const kind of kinds) perCrew.get(kind.crew)!.push(kind)
  const lockedIn = new Map<string, { seat: RosterSeat; person: RosterPerson; half: string }[]>()
  for (const l of instance.locks) {
    const seat = reader.seats.get(l.seatId)!
    const half = seat.shift === 'full' ? l.half : seat.shift
    const key = reader.crewOf(seat)
    lockedIn.set(key, [...(lockedIn.get(key) ?? []), { seat, person: reader.people.get(l.personId)!, half }])
  }
  let L = t.costFactor * t.lockedCost
  for (const x of Object.values(prices.people)) L -= x
  t.earn.forEach((earn, k) => {
    L -= t.lockedFilled[k]! * (prices.classes[k]! + earn)
    if (t.filled[k] !== null) L += prices.classes[k]! * t.filled[k]!
  })
  if (t.allowed !== null) L -= prices.violation * t.allowed
  const classSize = reader.classKeys.map(
    (key) => instance.seats.filter((s) => `${s.tier}/${s.rank}` === key).length,
  )

  for (const [crew, groups] of perCrew) {
    const [placeId, precinct] = crew.split('|')
    const locked = lockedIn.get(crew) ?? []
    const halves =
      locked.some((l) => l.half !== 'full') ||
      groups.some((g) => g.seats[0]!.shift !== 'full' || g.who.some((w) => (w.ways & 6) !== 0))
    // Prices of minimums.
    const nus: { nu: number; meets(p: RosterPerson): boolean }[] = []
    rules.minimums.forEach((m, i) => {
      const nu = prices.minimums[`${i}|${crew}`]
      if (nu === undefined) return
      if (
        (m.placeId !== null && m.placeId !== placeId) ||
        (m.precinctId !== null && m.precinctId !== (precinct || null))
      )
        return
      if (!(nu >= 0) || nu > violationPrice * m.weight) {
        L = -INF
        return
      }
      const meets = (p: RosterPerson) =>
        m.kind === 'language'
          ? p.languages.includes(m.value)
          : m.kind === 'skill'
            ? p.skills.includes(m.value)
            : p.experience >= Number(m.value)
      L += nu * (m.count - locked.filter((l) => meets(l.person)).length)
      nus.push({ nu, meets })
    })
    const balance =
      !halves && rules.balance !== null && (rules.balance.mode === 'hard' || rules.balance.weight > 0)
    const dutySets = { lead: new Set<number>(), deputy: new Set<number>() }
    for (const l of locked) if (l.seat.duty) dutySets[l.seat.duty].add(party(l.person))
    const only = (set: Set<number>) => (set.size === 1 && !set.has(2) ? [...set][0]! : -1)
    const leadGroups = groups.filter((g) => g.seats[0]!.duty === 'lead')
    const deputyGroups = groups.filter((g) => g.seats[0]!.duty === 'deputy')
    const { lead, deputy } = dutySets
    let firstGroup: Kind | null = null
    let judged: Kind | null = null
    let startParty = -1
    if (rules.leadDeputySameParty > 0 && rules.balance && !halves) {
      if (leadGroups.length === 1 && deputyGroups.length === 1 && lead.size === 0 && deputy.size === 0) {
        firstGroup = leadGroups[0]!
        judged = deputyGroups[0]!
      } else if (leadGroups.length === 0 && deputyGroups.length === 1 && deputy.size === 0) {
        startParty = only(lead)
        judged = deputyGroups[0]!
      } else if (deputyGroups.length === 0 && leadGroups.length === 1 && lead.size === 0) {
        startParty = only(deputy)
        judged = leadGroups[0]!
      } else if (
        leadGroups.length === 0 &&
        deputyGroups.length === 0 &&
        only(lead) >= 0 &&
        only(lead) === only(deputy)
      )
        L += violationPrice * rules.leadDeputySameParty
    }
    let lockedDifference = 0
    for (const l of locked) lockedDifference += party(l.person) === 0 ? 1 : party(l.person) === 1 ? -1 : 0

    // Table: key = difference and the leads' party (−1 none or mixed) → least value.
    let table = new Map<string, { d: number; lead: number; value: number }>()
    table.set('start', { d: lockedDifference, lead: startParty, value: 0 })
    const inOrder = [
      ...groups.filter((g) => g === firstGroup),
      ...groups.filter((g) => g === judged),
      ...groups.filter((g) => g !== firstGroup && g !== judged),
    ]
    for (const g of inOrder) {
      const n = g.seats.length
      const k = g.priority
      const must = t.filled[k] === classSize[k]
      const gain = prices.classes[k]! + t.earn[k]!
      const price = (w: Kind['who'][number]) =>
        t.costFactor * w.cost +
        (prices.people[`${w.person.id}|${g.seats[0]!.date}`] ?? 0) -
        nus.reduce((sum, x) => (x.meets(w.person) ? sum + x.nu : sum), 0)
      const cheapest = (pick: (w: Kind['who'][number]) => boolean): number[] =>
        g.who
          .filter(pick)
          .map(price)
          .sort((x, y) => x - y)
          .slice(0, n)
      const sums = (list: number[]) => {
        const out = [0]
        for (const x of list) out.push(out.at(-1)! + x)
        return out
      }
      const options: { d: number; type: number; value: number }[] = []
      if (!balance && judged === null) {
        // Parties don't matter: whole people and pairs, merged.
        const wholes = cheapest((w) => (w.ways & 1) !== 0)
        const mornings = cheapest((w) => (w.ways & 2) !== 0)
        const afternoons = cheapest((w) => (w.ways & 4) !== 0)
        const pairs = mornings.flatMap((m, i) => (i < afternoons.length ? [m + afternoons[i]!] : []))
        const all = sums([...wholes, ...pairs].sort((x, y) => x - y).slice(0, n))
        const least = all
          .map((s, i) => (must && i < n ? INF : s - gain * i))
          .reduce((x, y) => Math.min(x, y), INF)
        options.push({ d: 0, type: -1, value: least })
      } else {
        const [as, bs, os] = [0, 1, 2].map((c) =>
          sums(cheapest((w) => (w.ways & 1) !== 0 && party(w.person) === c)),
        )
        for (let a = 0; a < as!.length; a++)
          for (let b = 0; b < bs!.length && a + b <= n; b++)
            for (let o = 0; o < os!.length && a + b + o <= n; o++) {
              const used = a + b + o
              if (must && used < n) continue
              const type = used > 0 && used === a ? 0 : used > 0 && used === b ? 1 : -1
              options.push({ d: a - b, type, value: as![a]! + bs![b]! + os![o]! - gain * used })
            }
      }
      const next = new Map<string, { d: number; lead: number; value: number }>()
      for (const from of table.values())
        for (const option of options) {
          let leadParty = from.lead
          let value = from.value + option.value
          if (g === firstGroup) leadParty = option.type
          else if (g === judged) {
            if (option.type >= 0 && option.type === from.lead)
              value += violationPrice * rules.leadDeputySameParty
            leadParty = -1
          }
          const d = from.d + option.d
          const key = `${d}|${leadParty}`
          const old = next.get(key)
          if (!old || value < old.value) next.set(key, { d, lead: leadParty, value })
        }
      table = next
    }
    // Locked members may break a hard balance on their own; nobody may make it worse.
    const most = rules.balance?.maxDifference ?? 0
    const cap = rules.balance?.mode === 'hard' ? Math.max(most, Math.abs(lockedDifference)) : most
    let least = INF
    for (const { d, value } of table.values()) {
      const excess = balance ? Math.max(0, Math.abs(d) - cap) : 0
      const extra =
        excess === 0
          ? 0
          : rules.balance!.mode === 'hard'
            ? INF
            : violationPrice * rules.balance!.weight * excess
      least = Math.min(least, value + extra)
    }
    L += least
  }
  return L
}
