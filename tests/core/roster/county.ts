/** Invented counties for tests and benches: places in clusters, people around them. Not a real county's data. */
import { seededRandom } from '@/lib/kernel/random'
import { RosterInstance, type RosterInstanceInput } from '@/lib/roster/schema'

export interface CountyShape {
  places: number
  people: number
  seed: number
  /** Share of people certified for lead and deputy seats. */
  leadShare?: number
  /** Share of people with a half day only. */
  halfShare?: number
  rules?: boolean
  hard?: boolean
  maxTravelKm?: number | null
  /** Real coordinates of places, when given. */
  coordinates?: [number, number][]
}

export const ELECTION_DAY = '2028-11-07'
const span = [{ from: '2028-01-01', until: '2029-01-01' }]

export function county(shape: CountyShape): RosterInstance {
  const random = seededRandom(shape.seed)
  const gauss = () => random.next() + random.next() + random.next() - 1.5
  const extent = 0.12 * Math.sqrt(shape.places / 40)
  const places = Array.from({ length: shape.places }, (_, i) => ({
    id: `p${i}`,
    at:
      shape.coordinates?.[i] ??
      ([41 + extent * (2 * random.next() - 1) * 1.4, -92 + extent * (2 * random.next() - 1) * 1.8] as [
        number,
        number,
      ]),
  }))
  const leadShare = shape.leadShare ?? 0.35
  const people = Array.from({ length: shape.people }, (_, i) => {
    const home = random.pick(places)
    const x = random.next()
    const certificates = [{ key: 'clerk', spans: span }]
    if (random.next() < leadShare) certificates.push({ key: 'lead', spans: span })
    if (random.next() < 0.5) certificates.push({ key: 'machine', spans: span })
    return {
      id: `w${i}`,
      at: [home.at[0] + 0.09 * gauss(), home.at[1] + 0.12 * gauss()] as [number, number],
      party: x < 0.45 ? 'Elm' : x < 0.85 ? 'Oak' : null,
      certificates,
      languages: random.next() < 0.15 ? ['es'] : [],
      experience: Math.floor(random.next() * 5),
      ...(random.next() < (shape.halfShare ?? 0)
        ? {
            available: [
              { date: ELECTION_DAY, shift: random.pick(['morning', 'afternoon', 'either'] as const) },
            ],
          }
        : {}),
      ...(random.next() < 0.4 ? { lastPlaceId: random.pick(places).id } : {}),
    }
  })
  const seats = places.flatMap((p) =>
    (
      [
        ['lead', 'lead', 'lead', 'lead'],
        ['deputy', 'minimum', 'lead', 'deputy'],
        ['check-in', 'minimum', 'clerk', null],
        ['check-in', 'minimum', 'clerk', null],
        ['ballots', 'rest', 'clerk', null],
        ['scanner', 'rest', 'machine', null],
        ['line', 'rest', 'clerk', null],
      ] as const
    ).map(([position, tier, certificate, duty], n) => ({
      id: `${p.id}-${n}`,
      placeId: p.id,
      position,
      tier,
      certificate,
      duty,
      date: ELECTION_DAY,
    })),
  )
  const input = {
    people,
    places,
    seats,
    rules:
      shape.rules === false
        ? { maxTravelKm: shape.maxTravelKm ?? null }
        : {
            balance: {
              parties: ['Elm', 'Oak'],
              maxDifference: 1,
              mode: shape.hard ? 'hard' : 'soft',
              weight: 2,
            },
            leadDeputySameParty: 3,
            minimums: [
              { kind: 'language', value: 'es', count: 1, weight: 1 },
              { kind: 'experience', value: '2', count: 3, weight: 1 },
            ],
            keepApart: shape.people > 20 ? [{ people: ['w0', 'w1'] }, { people: ['w2', 'w3'] }] : [],
            keepTogether: shape.people > 20 ? [{ people: ['w4', 'w5'] }, { people: ['w6', 'w7'] }] : [],
            maxTravelKm: shape.maxTravelKm ?? null,
          },
    costs: { notReturning: 2000 },
  }
  return RosterInstance.parse(input as unknown as RosterInstanceInput)
}
