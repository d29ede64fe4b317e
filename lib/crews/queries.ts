import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { type PayRates, payFor, payRatesOf } from '@/lib/people/pay'
import type { WantedSeats } from './core/crew-plan'
import { type CountyCrewRules, loadCrewPlan, loadCrewRules } from './facts'

export const CREW_PAGE = 20

export interface CrewRow extends WantedSeats {
  positionName: string
  /** Why it was changed by hand. */
  reason: string | null
  /** Seats that are there now. */
  present: number
}

export interface PlaceCrew {
  id: string
  code: string
  name: string
  kind: string
  registeredVoters: number
  rows: CrewRow[]
  seats: number
  /** Positions without a rate count as nothing. */
  costCents: number
}

export interface CrewsPage {
  election: { id: string; name: string; heldOn: string; kind: string }
  rules: CountyCrewRules
  positions: { key: string; nameEn: string }[]
  places: PlaceCrew[]
  matching: number
  pages: number
  page: number
  totals: { seats: number; fromRules: number; byHand: number; costCents: number; withoutRate: string[] }
  difference: { add: number; remove: number; removeTaken: number; stay: number; mark: number; token: string }
  unknownPositions: string[]
  mayChange: boolean
  mayPublish: boolean
}

/** Hours beyond those of the voters that a crew works in a whole day: setting up and closing (common practice). */
export const AROUND_HOURS = 2

/** Minutes that a seat is worked: the place's hours on that day with an hour before and after; half for a half day. */
function minutesOf(
  on: string,
  shift: string,
  heldOn: string,
  openings: readonly { firstOn: string | null; lastOn: string | null; opensAt: string; closesAt: string }[],
  usualHours: number,
): number {
  const opening = openings.find((o) =>
    o.firstOn === null ? on === heldOn : o.firstOn <= on && on <= (o.lastOn ?? o.firstOn),
  )
  const minute = (text: string) => Number(text.slice(0, 2)) * 60 + Number(text.slice(3, 5))
  const open = opening ? minute(opening.closesAt) - minute(opening.opensAt) : usualHours * 60
  const whole = open + AROUND_HOURS * 60
  return shift === 'full' ? whole : Math.round(whole / 2)
}

/** The crews of an election by place, what they cost, and what is still to be done. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getCrews(
  actor: Actor,
  countyId: string,
  electionId: string,
  filter: { name?: string; page: number },
): Promise<CrewsPage> {
  assertCan(actor, 'readRoster', countyId)
  const plan = await loadCrewPlan(db(), countyId, electionId)
  const { settings } = await db().county.findUniqueOrThrow({ where: { id: countyId } })
  const rates = payRatesOf(settings)
  const nameOf = new Map(plan.positions.map((p) => [p.key, p.nameEn]))
  const wantedAt = new Map<string, WantedSeats[]>()
  for (const want of plan.wanted) {
    const own = wantedAt.get(want.placeId)
    if (own) own.push(want)
    else wantedAt.set(want.placeId, [want])
  }
  const usual = plan.rules.demand.shareByHour.length
  const costAt = ({ id, openings }: (typeof plan.places)[number]) =>
    (wantedAt.get(id) ?? []).reduce(
      (sum, row) =>
        sum +
        row.seats * costOf(rates, row, minutesOf(row.on, row.shift, plan.election.heldOn, openings, usual)),
      0,
    )
  const word = filter.name?.trim().toLowerCase()
  const matching = word
    ? plan.places.filter((p) => p.name.toLowerCase().includes(word) || p.code.toLowerCase().startsWith(word))
    : plan.places
  const pages = Math.max(1, Math.ceil(matching.length / CREW_PAGE))
  const page = Math.min(pages, Math.max(1, Math.floor(filter.page)))
  const shown = matching.slice((page - 1) * CREW_PAGE, page * CREW_PAGE)
  const ids = new Set(shown.map((place) => place.id))
  const keyOf = (g: { placeId: string; position: string; on: string; shift: string }) =>
    `${g.placeId} ${g.position} ${g.on} ${g.shift}`
  const present = new Map<string, number>()
  for (const seat of plan.present)
    if (ids.has(seat.placeId)) present.set(keyOf(seat), (present.get(keyOf(seat)) ?? 0) + 1)
  const reasons = new Map(
    plan.changes.map((c) => [
      keyOf({ placeId: c.pollingPlaceId, position: c.positionKey, on: c.servesOn, shift: c.shift }),
      c.reason,
    ]),
  )
  const sum = (of: (row: WantedSeats) => number) => plan.wanted.reduce((total, row) => total + of(row), 0)
  const used = new Set(plan.wanted.filter((w) => w.seats > 0).map((w) => w.position))
  return {
    election: plan.election,
    rules: plan.rules,
    positions: plan.positions.map(({ key, nameEn }) => ({ key, nameEn })),
    places: shown.map((place): PlaceCrew => {
      const rows = (wantedAt.get(place.id) ?? []).map((want) => ({
        ...want,
        positionName: nameOf.get(want.position) ?? want.position,
        reason: reasons.get(keyOf(want)) ?? null,
        present: present.get(keyOf(want)) ?? 0,
      }))
      return {
        id: place.id,
        code: place.code,
        name: place.name,
        kind: place.kind,
        registeredVoters: place.precincts.reduce((sum, p) => sum + p.registeredVoters, 0),
        rows,
        seats: rows.reduce((sum, row) => sum + row.seats, 0),
        costCents: costAt(place),
      }
    }),
    matching: matching.length,
    pages,
    page,
    totals: {
      seats: sum((row) => row.seats),
      fromRules: sum((row) => row.fromRules),
      byHand: sum((row) => row.seats - row.fromRules),
      costCents: plan.places.reduce((total, place) => total + costAt(place), 0),
      withoutRate: [...used].filter((key) => !rates[key]).map((key) => nameOf.get(key) ?? key),
    },
    difference: {
      add: plan.difference.add.length,
      remove: plan.difference.remove.length,
      removeTaken: plan.difference.remove.filter((seat) => seat.taken).length,
      stay: plan.difference.stay.length,
      mark: plan.difference.mark.length,
      token: plan.token,
    },
    unknownPositions: plan.unknownPositions,
    mayChange: can(actor, 'changePlaces', countyId),
    mayPublish: can(actor, 'publishRules', countyId),
  }
}

const costOf = (rates: PayRates, row: WantedSeats, minutes: number): number => {
  const rate = rates[row.position]
  if (!rate) return 0
  return payFor(row.shift === 'full' ? rate : { ...rate, perDayCents: rate.perDayCents / 2 }, minutes)
}

/** A county's crew rules, for the page that changes them. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getCrewRules(actor: Actor, countyId: string): Promise<CountyCrewRules> {
  assertCan(actor, 'readRoster', countyId)
  return loadCrewRules(db(), countyId)
}

export interface WaitingGround {
  rules: CountyCrewRules
  place: { id: string; code: string; name: string; registeredVoters: number }
  /** Seats at check-in on election day, and devices to vote on; null: not known. */
  checkInSeats: number | null
  votingStations: number | null
  /** For the choice of another place: the largest first. */
  places: { id: string; name: string; registeredVoters: number }[]
}

/** What the waiting-time estimate of a place starts from; without a place, the one with the most voters.
 *  Null: the county has no places. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getWaitingGround(
  actor: Actor,
  countyId: string,
  electionId: string,
  placeId: string | undefined,
): Promise<WaitingGround | null> {
  assertCan(actor, 'readRoster', countyId)
  const places = await db().$queryRaw<WaitingGround['place'][]>`
    SELECT p.id, p.code, p.name, coalesce(sum(c."registeredVoters"), 0)::int AS "registeredVoters"
    FROM "PollingPlace" p LEFT JOIN "Precinct" c ON c."pollingPlaceId" = p.id
    WHERE p."countyId" = ${countyId} GROUP BY p.id ORDER BY 4 DESC, p.code`
  const place = places.find((p) => p.id === placeId) ?? places[0]
  if (!place) return null
  const plan = await loadCrewPlan(db(), countyId, electionId, place.id)
  const checkIn = plan.wanted.filter(
    (w) =>
      w.placeId === place.id &&
      w.on === plan.election.heldOn &&
      w.position === 'check-in' &&
      w.shift !== 'afternoon',
  )
  const devices = await db().placeEquipment.aggregate({
    where: { pollingPlaceId: place.id, kind: { in: ['ballotStation', 'accessibleStation'] } },
    _sum: { count: true },
  })
  return {
    rules: plan.rules,
    place,
    checkInSeats: checkIn.length > 0 ? checkIn.reduce((sum, w) => sum + w.seats, 0) : null,
    votingStations: devices._sum.count,
    places: places.slice(0, 300),
  }
}
