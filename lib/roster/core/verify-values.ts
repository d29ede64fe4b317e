/** The checker's own count of what a roster is worth (see verify.ts). */
import type { RosterPerson, RosterSeat, Seating } from '../schema'
import type { Reader, Verdict } from './verify-reader'

/** Feasibility and the three values. */
export function checkRoster(
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
  const keyOf = (s: Seating) => `${s.seatId}|${s.personId}|${s.half}`
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
    const isLock = lockKeys.has(keyOf(s))
    // Only a lock may give somebody the morning in one seat and the afternoon in another.
    for (const half of isLock && s.half !== 'full' ? [s.half] : ['morning', 'afternoon']) {
      const time = `${s.personId}|${seat.date}|${half}`
      if (busy.has(time)) say(where, `${s.personId} serves twice on ${seat.date}`)
      busy.add(time)
    }
    present.add(keyOf(s))
    const open = reader.shiftOf(seat)
    if (!isLock && open !== 'full' && s.half !== open) say(where, `${s.seatId} has no ${s.half} to fill`)
    const way = open !== 'full' || s.half === 'full' ? 1 : s.half === 'morning' ? 2 : 4
    if (!isLock && (reader.ways(person, seat) & way) === 0)
      say(where, `${s.personId} isn't eligible for ${s.seatId} (${s.half})`)
    cost += reader.cost(person, seat)
  })
  for (const key of lockKeys) if (!present.has(key)) say('seatings', `the lock ${key} isn't kept`)
  const seats = reader.classKeys.map(() => 0)
  const emptySet = new Set(result.empty)
  for (const seat of instance.seats) {
    const list = bySeat.get(seat.id) ?? []
    const onlyLocked = !reader.lockedSeats.has(seat.id) && list.every((s) => lockKeys.has(keyOf(s)))
    if (onlyLocked) {
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
        const locks = reader.instance.locks
        const isLock = (m: (typeof members)[number]) =>
          locks.some((l) => l.seatId === m.seat.id && l.personId === m.person.id)
        if (excess > excessOf(members.filter(isLock)))
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
