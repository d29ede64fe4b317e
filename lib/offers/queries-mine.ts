import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import type { Locale } from '@/lib/kernel/wording'
import type { CalendarEvent } from '@/lib/papers/calendar'
import { distanceKm, type LatLon } from '@/lib/places/core/distance'
import { addressOf } from '@/lib/places/queries'
import { equipmentName, jobAidsOn, type ShortJobAid } from '@/lib/scenarios/job-aids'
import { traineeOrThrow } from '@/lib/scenarios/queries'
import { lessonsOfPosition } from '@/lib/scenarios/queries-lesson-plan'
import { calendarOf } from './core/calendar'
import { type DutyHours, dutyHours } from './core/hours'
import { mayHappen, type OfferState } from './core/status'
import { whenOf } from './core/words'
import { noOffer, offered, SEAT_COLUMNS, statusOf } from './facts'
import { readOfferToken } from './link'
import { type OfferSettings, offerSettingsOf } from './schema'

/** What a person sees of their offers. By the link of a letter nothing is in it that says who they are. */

export interface MyOffer {
  id: string
  state: OfferState
  answerBy: CivilDate
  may: { accept: boolean; decline: boolean; ask: boolean }
  electionName: string
  on: CivilDate
  shift: string
  hours: DutyHours | null
  when: string
  position: string
  place: {
    id: string
    code: string
    name: string
    address: string
    /** Null: where it is isn't known yet. */
    at: LatLon | null
    contactName: string
    contactPhone: string
    /** Where it was when the offer was made, where it has moved since. */
    before: string | null
  }
  /** From home, straight line; null by the link, or where home isn't known. */
  km: number | null
  /** The county's other places, for the map. */
  others: LatLon[]
  equipment: string
  aids: ShortJobAid[]
  office: { name: string } & Pick<OfferSettings, 'officePhone' | 'officeHours'>
}

export interface MyOffers {
  today: CivilDate
  /** What still lies ahead, the earliest first. */
  offers: MyOffer[]
}

const include = {
  events: { orderBy: { sequence: 'asc' } },
  seat: { select: SEAT_COLUMNS },
  election: { include: { county: true } },
} as const

type Row = Awaited<ReturnType<typeof rowsOf>>[number]
const rowsOf = (where: { pollWorkerId: string; electionId?: string; id?: string }) =>
  db().offer.findMany({ where, include, orderBy: [{ seat: { servesOn: 'asc' } }, { id: 'asc' }] })

async function viewOf(
  row: Row,
  locale: Locale,
  home: LatLon | null,
  others: Map<string, LatLon[]>,
): Promise<MyOffer> {
  const { election } = row
  const seat = offered(row)
  const { county } = election
  const settings = offerSettingsOf(county.settings)
  const today = civilDateAt(systemClock.now(), county.timeZone)
  const status = statusOf(row.events, today)
  const on = seat.servesOn as CivilDate
  const hours = dutyHours(
    seat.pollingPlace.openings,
    { on, shift: seat.shift },
    election.heldOn as CivilDate,
    settings,
  )
  const { pollingPlace: place } = seat
  const at: LatLon | null = place.located ? [place.lat, place.lon] : null
  const ahead = on >= today
  const may = (kind: Parameters<typeof mayHappen>[0]) => ahead && mayHappen(kind, status.state)
  const lessons = await lessonsOfPosition(db(), row.countyId, seat.position.key)
  return {
    id: row.id,
    state: status.state,
    answerBy: status.answerBy,
    may: { accept: may('accepted'), decline: may('declined'), ask: may('askedElsewhere') },
    electionName: election.name,
    on,
    shift: seat.shift,
    hours,
    when: whenOf({ on, shift: seat.shift, hours }, locale),
    position: locale === 'es' ? seat.position.nameEs : seat.position.nameEn,
    place: {
      id: place.id,
      code: place.code,
      name: place.name,
      address: place.address,
      at,
      contactName: place.contactName,
      contactPhone: place.contactPhone,
      before: await placeBefore(row),
    },
    km: home && at ? distanceKm(home, at) : null,
    others: (others.get(row.countyId) ?? []).filter((o) => !at || o[0] !== at[0] || o[1] !== at[1]),
    equipment: equipmentName(place.equipmentProfile, locale),
    aids: jobAidsOn(lessons, place.equipmentProfile, locale),
    office: {
      name: county.name,
      officePhone: settings.officePhone,
      officeHours: settings.officeHours,
    },
  }
}

/** Where the place of an offer was when the offer was made; null where it hasn't moved. */
async function placeBefore(row: Row): Promise<string | null> {
  const move = await db().placeMove.findFirst({
    where: {
      pollingPlaceId: row.seat.pollingPlace.id,
      electionId: row.electionId,
      movedAt: { gt: row.events[0]!.at },
    },
    orderBy: { movedAt: 'asc' },
  })
  return move && addressOf(move.before)
}

async function placesOf(rows: Row[]): Promise<Map<string, LatLon[]>> {
  const found = new Map<string, LatLon[]>()
  for (const countyId of new Set(rows.map((r) => r.countyId)))
    found.set(
      countyId,
      (
        await db().pollingPlace.findMany({
          where: { countyId, located: true },
          select: { lat: true, lon: true },
        })
      ).map((p) => [p.lat, p.lon] as const),
    )
  return found
}

/** Everything offered to the signed-in person whose day isn't over. @throws AppError NOT_FOUND */
export async function getMyOffers(actor: Actor, locale: Locale): Promise<MyOffers> {
  const worker = await traineeOrThrow(db(), actor)
  const today = civilDateAt(systemClock.now(), worker.county.timeZone)
  const rows = (await rowsOf({ pollWorkerId: worker.id })).filter((r) => r.seat.servesOn >= today)
  const home: LatLon | null =
    worker.homeLat === null || worker.homeLon === null ? null : [worker.homeLat, worker.homeLon]
  const others = await placesOf(rows)
  return { today, offers: await Promise.all(rows.map((row) => viewOf(row, locale, home, others))) }
}

/** What a path shows of offers: how many wait for an answer, and the next day's work. */
export async function countMyOffers(actor: Actor): Promise<{ waiting: number; all: number }> {
  const worker = await traineeOrThrow(db(), actor)
  const today = civilDateAt(systemClock.now(), worker.county.timeZone)
  const rows = await db().offer.findMany({
    where: { pollWorkerId: worker.id, seat: { servesOn: { gte: today } } },
    select: { events: { orderBy: { sequence: 'asc' }, select: { kind: true, answerBy: true } } },
  })
  const states = rows.map((r) => statusOf(r.events, today).state)
  return {
    waiting: states.filter((s) => s === 'open' || s === 'overdue').length,
    all: states.filter((s) => s !== 'withdrawn' && s !== 'declined').length,
  }
}

/** The same by the link of a letter: the offers of that election, without the way from home and without the telephone
 *  numbers of people at the place. @throws AppError NOT_FOUND */
export async function getOffersByLink(token: string, locale: Locale): Promise<MyOffers> {
  const offerId = readOfferToken(token)
  const letter = offerId ? await db().offer.findUnique({ where: { id: offerId } }) : null
  if (!letter) throw noOffer()
  const rows = await rowsOf({ pollWorkerId: letter.pollWorkerId, electionId: letter.electionId })
  const today = civilDateAt(systemClock.now(), rows[0]!.election.county.timeZone)
  const others = await placesOf(rows)
  const offers = await Promise.all(
    rows
      .filter((r) => r.seat.servesOn >= today)
      .map(async (row) => {
        const offer = await viewOf(row, locale, null, others)
        return { ...offer, place: { ...offer.place, contactName: '', contactPhone: '' } }
      }),
  )
  return { today, offers }
}

async function calendarEvent(row: Row, locale: Locale, url: string | null): Promise<CalendarEvent> {
  const offer = await viewOf(row, locale, null, new Map())
  if (offer.state === 'declined' || offer.state === 'withdrawn') throw noOffer()
  return calendarOf(
    { ...offer, sequence: row.events.length, timeZone: row.election.county.timeZone },
    locale,
    { url, at: systemClock.now() },
  )
}

export async function getMyCalendar(actor: Actor, offerId: string, url: string): Promise<CalendarEvent> {
  const worker = await traineeOrThrow(db(), actor)
  const [row] = /^[0-9a-f-]{36}$/.test(offerId) ? await rowsOf({ pollWorkerId: worker.id, id: offerId }) : []
  if (!row) throw noOffer()
  return calendarEvent(row, actor.locale, url)
}

export async function getCalendarByLink(
  token: string,
  offerId: string,
  locale: Locale,
): Promise<CalendarEvent> {
  const letterOf = readOfferToken(token)
  const letter = letterOf ? await db().offer.findUnique({ where: { id: letterOf } }) : null
  const [row] =
    letter && /^[0-9a-f-]{36}$/.test(offerId)
      ? await rowsOf({ pollWorkerId: letter.pollWorkerId, electionId: letter.electionId, id: offerId })
      : []
  if (!row) throw noOffer()
  return calendarEvent(row, locale, null)
}
