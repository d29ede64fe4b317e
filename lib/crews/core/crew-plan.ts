import type { CivilDate } from '@/lib/kernel/dates'
import type { SeatGroup } from './seats'

/** Seats of one position, day and shift at a place, as they should be: from the rules, and by hand. */
export interface WantedSeats {
  placeId: string
  position: string
  on: CivilDate
  shift: string
  fromRules: number
  /** More or fewer by hand. */
  byHand: number
  /** fromRules + byHand, never below 0. */
  seats: number
  legalMinimum: number
}

export interface HandChange {
  placeId: string
  position: string
  on: CivilDate
  shift: string
  change: number
}

const keyOf = (g: { placeId: string; position: string; on: string; shift: string }) =>
  // The last part alone may hold a space.
  `${g.placeId} ${g.on} ${g.shift} ${g.position}`

/** What the rules give, added up over the precincts of each place, with the changes by hand on top. A change where the
 *  rules give nothing makes a group of its own. In the order of the rules' groups, then of the changes.
 *  O(groups + changes). */
export function wantedSeats(groups: readonly SeatGroup[], changes: readonly HandChange[]): WantedSeats[] {
  const wanted = new Map<string, WantedSeats>()
  const at = (g: { placeId: string; position: string; on: CivilDate; shift: string }): WantedSeats => {
    const key = keyOf(g)
    const found = wanted.get(key)
    if (found) return found
    const { placeId, position, on, shift } = g
    const fresh = { placeId, position, on, shift, fromRules: 0, byHand: 0, seats: 0, legalMinimum: 0 }
    wanted.set(key, fresh)
    return fresh
  }
  for (const group of groups) {
    const row = at(group)
    row.fromRules += group.seats
    row.legalMinimum += group.legalMinimum
  }
  for (const change of changes) at(change).byHand += change.change
  for (const row of wanted.values()) row.seats = Math.max(0, row.fromRules + row.byHand)
  return [...wanted.values()]
}

export interface PresentSeat {
  id: string
  placeId: string
  position: string
  on: CivilDate
  shift: string
  number: number
  legalMinimum: boolean
  /** Why it can't go: a published roster or an offer names it. */
  fixed: boolean
  /** Somebody sits there in the draft. */
  taken: boolean
}

export interface CrewDifference {
  add: {
    placeId: string
    position: string
    on: CivilDate
    shift: string
    number: number
    legalMinimum: boolean
  }[]
  /** Empty ones go before taken ones, higher numbers before lower. */
  remove: PresentSeat[]
  /** Too many, but a published roster or an offer names them. */
  stay: PresentSeat[]
  /** Seats whose mark as legal minimum changes. */
  mark: { id: string; legalMinimum: boolean }[]
}

/** What has to be done so that the seats are as wanted. The first numbers of a group are its legal minimum.
 *  O(n log n) in seats. */
export function crewDifference(
  wanted: readonly WantedSeats[],
  present: readonly PresentSeat[],
): CrewDifference {
  const byKey = new Map<string, PresentSeat[]>()
  for (const seat of present) {
    const key = keyOf(seat)
    const group = byKey.get(key)
    if (group) group.push(seat)
    else byKey.set(key, [seat])
  }
  const result: CrewDifference = { add: [], remove: [], stay: [], mark: [] }
  const settle = (seats: PresentSeat[], want: WantedSeats | null) => {
    let tooMany = seats.length - (want?.seats ?? 0)
    const order = [...seats].sort(
      (a, b) => Number(a.taken) - Number(b.taken) || b.number - a.number || (a.id < b.id ? -1 : 1),
    )
    const left: PresentSeat[] = []
    for (const seat of order) {
      if (tooMany > 0 && !seat.fixed) {
        result.remove.push(seat)
        tooMany--
      } else left.push(seat)
    }
    if (tooMany > 0) result.stay.push(...left.slice(0, tooMany))
    const used = new Set(left.map((seat) => seat.number))
    const fresh: number[] = []
    for (let number = 1; want && left.length + fresh.length < want.seats; number++)
      if (!used.has(number)) fresh.push(number)
    const legal = new Set(
      [...used, ...fresh].sort((a, b) => a - b).slice(0, Math.min(want?.legalMinimum ?? 0, want?.seats ?? 0)),
    )
    for (const number of fresh) {
      const { placeId, position, on, shift } = want!
      result.add.push({ placeId, position, on, shift, number, legalMinimum: legal.has(number) })
    }
    if (want)
      for (const seat of left)
        if (legal.has(seat.number) !== seat.legalMinimum)
          result.mark.push({ id: seat.id, legalMinimum: legal.has(seat.number) })
  }
  for (const want of wanted) {
    settle(byKey.get(keyOf(want)) ?? [], want)
    byKey.delete(keyOf(want))
  }
  for (const seats of byKey.values()) settle(seats, null)
  return result
}
