/** Random tiny instances with every feature, and the best roster by trying all of them. */
import type { Random } from '@/lib/kernel/random'
import { evaluateRoster, waysToServe } from '@/lib/roster/core/verify'
import { RosterInstance, type RosterInstanceInput, type Seating } from '@/lib/roster/schema'

export interface TinyShape {
  halves?: boolean
  rules?: boolean
  hard?: boolean
  locks?: boolean
  precincts?: boolean
}

export const DAY = '2028-11-07'
const spans = [{ from: '2028-01-01', until: null }]

export function tinyInstance(random: Random, shape: TinyShape): RosterInstance {
  const placeCount = 1 + random.below(3)
  const personCount = 2 + random.below(4)
  const seatCount = 2 + random.below(3)
  const chance = (p: number) => random.next() < p
  const places = Array.from({ length: placeCount }, (_, i) => ({
    id: `p${i}`,
    at: [41 + random.next() * 0.2, -92 + random.next() * 0.2] as [number, number],
  }))
  const people = Array.from({ length: personCount }, (_, i) => ({
    id: `w${i}`,
    at: [41 + random.next() * 0.2, -92 + random.next() * 0.2] as [number, number],
    party: random.pick(['Elm', 'Oak', null, 'Elm', 'Oak']),
    certificates: [
      ...(chance(0.8) ? [{ key: 'clerk', spans }] : []),
      ...(chance(0.5) ? [{ key: 'lead', spans }] : []),
    ],
    languages: chance(0.4) ? ['es'] : [],
    experience: random.below(3),
    excludedPlaces: chance(0.15) ? [random.pick(places).id] : [],
    lastPlaceId: chance(0.4) ? random.pick(places).id : null,
    preferredPlaces: chance(0.3) ? [random.pick(places).id] : [],
    available:
      shape.halves && chance(0.6)
        ? [{ date: DAY, shift: random.pick(['morning', 'afternoon', 'either', 'full']) }]
        : null,
  }))
  const seats = Array.from({ length: seatCount }, (_, i) => {
    const lead = chance(0.4)
    return {
      id: `s${i}`,
      placeId: random.pick(places).id,
      precinctId: shape.precincts ? random.pick(['north', 'south']) : null,
      position: lead ? 'lead' : 'clerk',
      tier: random.pick(['lead', 'minimum', 'rest']),
      certificate: lead ? 'lead' : 'clerk',
      duty: lead ? random.pick(['lead', 'deputy']) : null,
      shift: shape.halves && chance(0.25) ? random.pick(['morning', 'afternoon']) : 'full',
      date: DAY,
    }
  })
  const input: Record<string, unknown> = {
    people,
    places,
    seats,
    costs: { notReturning: 3000, notPreferred: 2000 },
  }
  if (shape.rules || shape.hard)
    input.rules = {
      balance: {
        parties: ['Elm', 'Oak'],
        maxDifference: random.below(2),
        mode: shape.hard ? 'hard' : 'soft',
        weight: 2,
      },
      leadDeputySameParty: random.below(3),
      minimums: [
        { kind: 'language', value: 'es', count: 1, weight: 1 },
        ...(chance(0.5) ? [{ kind: 'experience', value: '1', count: 2, weight: 1, placeId: 'p0' }] : []),
      ],
      keepApart: chance(0.4) ? [{ people: ['w0', 'w1'], weight: 2 }] : [],
      keepTogether: chance(0.4) ? [{ people: ['w1', 'w0'].reverse(), weight: 1 }] : [],
    }
  const instance = RosterInstance.parse(input as RosterInstanceInput)
  if (shape.locks && chance(0.7)) {
    const seat = random.pick(instance.seats)
    const person = random.pick(instance.people)
    const ways = waysToServe(instance, person.id, seat.id)
    if (ways & 1) return { ...instance, locks: [{ seatId: seat.id, personId: person.id, half: 'full' }] }
    // One half alone: the other one is left to be filled.
    if (ways & 6)
      return {
        ...instance,
        locks: [{ seatId: seat.id, personId: person.id, half: ways & 2 ? 'morning' : 'afternoon' }],
      }
  }
  return instance
}

export interface Optimum {
  seats: number[]
  violations: number
  cost: number
}

/** Compares two rosters' values in level order: negative when the first is better. */
export function compareValues(a: Optimum, b: Optimum): number {
  for (let k = 0; k < a.seats.length; k++) if (a.seats[k] !== b.seats[k]) return b.seats[k]! - a.seats[k]!
  return a.violations - b.violations || a.cost - b.cost
}

/** The lexicographic optimum over every roster. Exponential: for a handful of seats and people. */
export function bruteForce(instance: RosterInstance): Optimum {
  let best: Optimum | null = null
  const locks = new Map<string, Seating>()
  for (const l of instance.locks) locks.set(l.seatId, l)
  const ways = instance.seats.map((s) => instance.people.map((p) => waysToServe(instance, p.id, s.id)))
  const used = new Set(instance.locks.map((l) => l.personId))
  const seatings: Seating[] = []
  const place = (i: number): void => {
    const seat = instance.seats[i]
    if (!seat) {
      const { values, problems } = evaluateRoster(instance, seatings)
      if (problems.length === 0 && (best === null || compareValues(values, best) < 0)) best = values
      return
    }
    const lock = locks.get(seat.id)
    const isHalf = lock !== undefined && seat.shift === 'full' && lock.half !== 'full'
    if (lock) {
      seatings.push({ ...lock, half: seat.shift === 'full' ? lock.half : seat.shift })
      if (!isHalf) place(i + 1)
    }
    if (lock && !isHalf) {
      seatings.pop()
      return
    }
    place(i + 1)
    instance.people.forEach((p, x) => {
      if (used.has(p.id)) return
      if (ways[i]![x]! & 1) {
        used.add(p.id)
        const half = !isHalf ? seat.shift : lock.half === 'morning' ? 'afternoon' : 'morning'
        seatings.push({ seatId: seat.id, personId: p.id, half })
        place(i + 1)
        seatings.pop()
        used.delete(p.id)
      }
      if (ways[i]![x]! & 2)
        instance.people.forEach((q, y) => {
          if (q === p || used.has(q.id) || !(ways[i]![y]! & 4)) return
          used.add(p.id)
          used.add(q.id)
          seatings.push(
            { seatId: seat.id, personId: p.id, half: 'morning' },
            { seatId: seat.id, personId: q.id, half: 'afternoon' },
          )
          place(i + 1)
          seatings.pop()
          seatings.pop()
          used.delete(p.id)
          used.delete(q.id)
        })
    })
    if (isHalf) seatings.pop()
  }
  place(0)
  return best!
}
