import { addDays, type CivilDate } from '@/lib/kernel/dates'
import type { IdKind } from './ids'
import type { ElectionRow, PollingPlaceRow, PositionRow, PrecinctRow, SeatRow } from './rows'

/** The six positions of the demonstration, in the order in which seats are filled. */
export const POSITIONS = [
  { key: 'lead', rank: 1, en: 'Lead', es: 'Encargado' },
  { key: 'deputy', rank: 2, en: 'Deputy', es: 'Suplente' },
  { key: 'check-in', rank: 3, en: 'Check-in', es: 'Registro de votantes' },
  { key: 'ballot-station', rank: 4, en: 'Ballot station', es: 'Estación de votación' },
  { key: 'scanner', rank: 5, en: 'Scanner', es: 'Escáner' },
  { key: 'line-and-access', rank: 6, en: 'Line and access', es: 'Fila y acceso' },
] as const
export type PositionKey = (typeof POSITIONS)[number]['key']

/** Early voting is open from the seventh to the third day before election day. */
export const EARLY_DAYS = [-7, -6, -5, -4, -3] as const
/** From this many registered voters on, a place has a second ballot-station seat. */
const SECOND_STATION_FROM = 1500
/** In every sixth place two seats are worked in halves of a day. */
const SPLIT_EVERY = 6

/** Every seat of an election. A place's crew is lead, deputy, two at check-in, one or two at the ballot stations,
 *  scanner, line and access; `lean` leaves out the last two and the second station. The crew rule is invented (common
 *  practice), not law. */
export function inventSeats(
  nextId: (kind: IdKind) => string,
  election: ElectionRow,
  places: readonly PollingPlaceRow[],
  precincts: readonly PrecinctRow[],
  positions: readonly PositionRow[],
  lean: boolean,
): SeatRow[] {
  const voters = new Map<string, number>()
  for (const { pollingPlaceId, registeredVoters } of precincts)
    if (pollingPlaceId) voters.set(pollingPlaceId, (voters.get(pollingPlaceId) ?? 0) + registeredVoters)
  const positionId = new Map(positions.map((position) => [position.key, position.id]))
  const seats: SeatRow[] = []
  const add = (
    place: PollingPlaceRow,
    key: PositionKey,
    number: number,
    more: { on?: string; shift?: string; legalMinimum?: boolean } = {},
  ) =>
    seats.push({
      id: nextId('seat'),
      countyId: place.countyId,
      electionId: election.id,
      pollingPlaceId: place.id,
      positionId: positionId.get(key)!,
      servesOn: more.on ?? election.heldOn,
      shift: more.shift ?? 'full',
      number,
      legalMinimum: more.legalMinimum ?? false,
    })
  places.forEach((place, i) => {
    if (place.kind === 'earlyVotingSite') {
      for (const days of EARLY_DAYS) {
        const on = addDays(election.heldOn as CivilDate, days)
        add(place, 'lead', 1, { on, legalMinimum: true })
        add(place, 'check-in', 1, { on, legalMinimum: true })
      }
      return
    }
    const shifts = i % SPLIT_EVERY === SPLIT_EVERY - 1 ? ['morning', 'afternoon'] : ['full']
    add(place, 'lead', 1, { legalMinimum: true })
    add(place, 'deputy', 1, { legalMinimum: true })
    add(place, 'check-in', 1, { legalMinimum: true })
    for (const shift of shifts) add(place, 'check-in', 2, { shift })
    for (const shift of shifts) add(place, 'ballot-station', 1, { shift })
    if (lean) return
    if ((voters.get(place.id) ?? 0) >= SECOND_STATION_FROM) add(place, 'ballot-station', 2)
    add(place, 'scanner', 1)
    add(place, 'line-and-access', 1)
  })
  return seats
}
