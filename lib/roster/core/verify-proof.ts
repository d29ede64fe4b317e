/** The checker's own computation of bounds from covers and prices (see verify.ts). */
import type { BoundPrices, RosterPerson, RosterResult, RosterSeat } from '../schema'
import { leastOf, poolsOf } from './verify-crew'
import type { Kind, Reader } from './verify-reader'

/** Size of a cover, or null where it misses an eligible pair. */
export function coverSize(
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

export interface Terms {
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
export function lagrangian(reader: Reader, kinds: Kind[], prices: BoundPrices, t: Terms): number {
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
    // The balance of one half of the day: that which more seats ask for.
    const seatsOf = (half: string) =>
      groups.reduce((n, g) => n + (reader.shiftOf(g.seats[0]!) === half ? g.seats.length : 0), 0)
    const judgedHalf = seatsOf('afternoon') > seatsOf('morning') ? 'afternoon' : 'morning'
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
    const balance = rules.balance !== null && (rules.balance.mode === 'hard' || rules.balance.weight > 0)
    const dutySets = { lead: new Set<number>(), deputy: new Set<number>() }
    for (const l of locked) if (l.seat.duty) dutySets[l.seat.duty].add(party(l.person))
    const only = (set: Set<number>) => (set.size === 1 && !set.has(2) ? [...set][0]! : -1)
    const leadGroups = groups.filter((g) => g.seats[0]!.duty === 'lead')
    const deputyGroups = groups.filter((g) => g.seats[0]!.duty === 'deputy')
    const { lead, deputy } = dutySets
    let firstGroup: Kind | null = null
    let judged: Kind | null = null
    let startParty = -1
    if (rules.leadDeputySameParty > 0 && rules.balance) {
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
    const lockedDifference = (half: string) => {
      const there = locked.filter((l) => l.half === 'full' || l.half === half).map((l) => party(l.person))
      return there.filter((p) => p === 0).length - there.filter((p) => p === 1).length
    }

    const pools = poolsOf(groups, {
      role: (g) => (g === firstGroup ? 'first' : g === judged ? 'judged' : 'free'),
      counts: (g) => ['full', judgedHalf].includes(reader.shiftOf(g.seats[0]!)),
      price: (w, g) =>
        t.costFactor * w.cost +
        (prices.people[`${w.person.id}|${g.seats[0]!.date}`] ?? 0) -
        nus.reduce((sum, x) => (x.meets(w.person) ? sum + x.nu : sum), 0),
      party: (w) => party(w.person),
      gain: (g) => prices.classes[g.priority]! + t.earn[g.priority]!,
      mustBeFull: (g) => t.filled[g.priority] === classSize[g.priority],
    })
    // Locked members may break a hard balance on their own; nobody may make it worse.
    const most = rules.balance?.maxDifference ?? 0
    const lockedMost = Math.max(...['morning', 'afternoon'].map((half) => Math.abs(lockedDifference(half))))
    const cap = rules.balance?.mode === 'hard' ? Math.max(most, lockedMost) : most
    const excessPrice = (d: number) => {
      const excess = balance ? Math.max(0, Math.abs(d) - cap) : 0
      if (excess === 0) return 0
      return rules.balance!.mode === 'hard' ? INF : violationPrice * rules.balance!.weight * excess
    }
    L += leastOf(pools, {
      partiesMatter: balance || judged !== null,
      judgedHalf: judgedHalf === 'morning' ? 2 : 4,
      otherHalf: judgedHalf === 'morning' ? 4 : 2,
      start: { d: lockedDifference(judgedHalf), lead: startParty },
      samePartyPrice: violationPrice * rules.leadDeputySameParty,
      excessPrice,
    })
  }
  return L
}
