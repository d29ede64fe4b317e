import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { listPolicies } from '@/lib/certification/queries'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { type WallTime, wallTimeAt } from '@/lib/kernel/wall-time'
import type { Locale, Wording } from '@/lib/kernel/wording'
import { traineeOrThrow } from '@/lib/scenarios/queries'
import type { ClassBooking, TrainingClass } from '@/prisma/client/client'
import { type BookingState, seatingOf } from './core/seating'
import { type ClassTopic, classTopicsOf, titleOf } from './core/topics'
import { whenInWords } from './core/words'
import { noClass } from './facts'
import { equipmentProfilesOf, type HandTaskState, handTasksOfPeople } from './queries'

const UUID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i
/** Past classes on a staff page, newest first. */
const PAST = 30

export interface ClassSummary {
  id: string
  topic: string
  title: string
  /** Day and times in words, in the reader's language, on the county's clocks. */
  when: string
  heldOn: CivilDate
  startsAt: Date
  endsAt: Date
  placeName: string
  placeAddress: string
  trainerName: string
  note: string
  locale: Locale
  /** For whom it is meant; null: everybody. */
  forPosition: string | null
  seats: number
  seatsLeft: number
  waiting: number
  state: 'open' | 'begun' | 'closed' | 'cancelled'
  revision: number
}

type Row = TrainingClass & { bookings: ClassBooking[] }
interface Ground {
  timeZone: string
  locale: Locale
  at: Date
  topics: ClassTopic[]
  positions: { key: string; nameEn: string; nameEs: string }[]
}

function summaryOf(row: Row, ground: Ground): ClassSummary {
  const states = [...seatingOf(row.bookings, { seats: row.seats, closed: false }).values()]
  const position = ground.positions.find((p) => p.key === row.positionKey)
  return {
    id: row.id,
    topic: row.topic,
    title: titleOf(ground.topics, row.topic)[ground.locale],
    when: whenInWords(row.startsAt, row.endsAt, ground.timeZone, ground.locale),
    heldOn: civilDateAt(row.startsAt, ground.timeZone),
    startsAt: row.startsAt,
    endsAt: row.endsAt,
    placeName: row.placeName,
    placeAddress: row.placeAddress,
    trainerName: row.trainerName,
    note: row.note,
    locale: row.locale === 'es' ? 'es' : 'en',
    forPosition: position ? (ground.locale === 'es' ? position.nameEs : position.nameEn) : null,
    seats: row.seats,
    seatsLeft: Math.max(0, row.seats - states.filter((s) => s.state === 'seat').length),
    waiting: states.filter((s) => s.state === 'waiting').length,
    state: row.cancelledAt
      ? 'cancelled'
      : row.closedAt
        ? 'closed'
        : row.startsAt <= ground.at
          ? 'begun'
          : 'open',
    revision: row.revision,
  }
}

async function groundOf(county: { id: string; timeZone: string }, locale: Locale): Promise<Ground> {
  const [policies, positions] = await Promise.all([
    listPolicies(db(), county.id),
    db().position.findMany({
      where: { countyId: county.id },
      orderBy: { rank: 'asc' },
      select: { key: true, nameEn: true, nameEs: true },
    }),
  ])
  return {
    timeZone: county.timeZone,
    locale,
    at: systemClock.now(),
    topics: classTopicsOf(policies),
    positions,
  }
}

export interface MyClass extends ClassSummary {
  /** Null: not booked. */
  mine: BookingState | null
}

const mineOf = (row: Row, workerId: string): BookingState | null => {
  const own = row.bookings.find((b) => b.pollWorkerId === workerId)
  if (!own) return null
  return seatingOf(row.bookings, { seats: row.seats, closed: row.closedAt !== null }).get(own.id) ?? null
}

/** The classes that a poll worker can book, soonest first; what they have booked is among them, even where it is
 *  cancelled. @throws AppError NOT_FOUND */
export async function listMyClasses(actor: Actor, locale: Locale): Promise<MyClass[]> {
  const worker = await traineeOrThrow(db(), actor)
  const [ground, rows] = await Promise.all([
    groundOf(worker.county, locale),
    db().trainingClass.findMany({
      where: { countyId: worker.countyId, endsAt: { gt: systemClock.now() } },
      include: { bookings: true },
      orderBy: [{ startsAt: 'asc' }, { id: 'asc' }],
      take: 200,
    }),
  ])
  return rows
    .map((row) => ({ ...summaryOf(row, ground), mine: mineOf(row, worker.id) }))
    .filter((c) => (c.state === 'open' ? true : c.mine !== null && c.mine.state !== 'cancelled'))
}

/** One class as a poll worker sees it. @throws AppError NOT_FOUND */
export async function getMyClassOrThrow(
  actor: Actor,
  classId: string,
  locale: Locale,
): Promise<MyClass & { timeZone: string; countyName: string }> {
  const worker = await traineeOrThrow(db(), actor)
  if (!UUID.test(classId)) throw noClass()
  const row = await db().trainingClass.findFirst({
    where: { id: classId, countyId: worker.countyId },
    include: { bookings: true },
  })
  if (!row) throw noClass()
  const ground = await groundOf(worker.county, locale)
  return {
    ...summaryOf(row, ground),
    mine: mineOf(row, worker.id),
    timeZone: worker.county.timeZone,
    countyName: worker.county.name,
  }
}

async function staffCounty(actor: Actor, countyId: string) {
  assertCan(actor, 'manageClasses', countyId)
  const county = await db().county.findUnique({ where: { id: countyId } })
  if (!county) throw new AppError('NOT_FOUND', { userMessage: 'There is no such county.' })
  return county
}

export interface CountyClasses {
  county: { id: string; name: string }
  upcoming: ClassSummary[]
  /** Begun or over, sheet still open. */
  toClose: ClassSummary[]
  past: ClassSummary[]
}

/** @throws AppError NOT_FOUND, FORBIDDEN */
export async function listCountyClasses(
  actor: Actor,
  countyId: string,
  earlier: 'newest' | 'all' = 'newest',
): Promise<CountyClasses> {
  const county = await staffCounty(actor, countyId)
  const at = systemClock.now()
  const [ground, ahead, behind] = await Promise.all([
    groundOf(county, 'en'),
    db().trainingClass.findMany({
      where: { countyId, startsAt: { gt: at } },
      include: { bookings: true },
      orderBy: { startsAt: 'asc' },
    }),
    db().trainingClass.findMany({
      where: { countyId, startsAt: { lte: at } },
      include: { bookings: true },
      orderBy: { startsAt: 'desc' },
      ...(earlier === 'all' ? {} : { take: PAST }),
    }),
  ])
  const past = behind.map((row) => summaryOf(row, ground))
  return {
    county: { id: county.id, name: county.name },
    upcoming: ahead.map((row) => summaryOf(row, ground)),
    toClose: past.filter((c) => c.state === 'begun'),
    past: past.filter((c) => c.state !== 'begun'),
  }
}

export interface ClassChoices {
  county: { id: string; name: string }
  today: CivilDate
  topics: { key: string; title: Wording }[]
  positions: { key: string; nameEn: string }[]
  places: { name: string; address: string }[]
}

/** What the form of a class offers. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getClassChoices(actor: Actor, countyId: string): Promise<ClassChoices> {
  const county = await staffCounty(actor, countyId)
  const [ground, places] = await Promise.all([
    groundOf(county, 'en'),
    db().pollingPlace.findMany({
      where: { countyId },
      select: { name: true, address: true },
      orderBy: { name: 'asc' },
    }),
  ])
  return {
    county: { id: county.id, name: county.name },
    today: civilDateAt(ground.at, county.timeZone),
    topics: ground.topics,
    positions: ground.positions,
    places,
  }
}

export interface SheetRow {
  workerId: string
  name: string
  countyRef: string
  wants: string | null
  signedIn: boolean
  state: BookingState
  /** Shown only with the permission for it. */
  accommodations: string | null
  tasks: HandTaskState[]
}

export interface ClassSheet {
  county: { id: string; name: string }
  today: CivilDate
  /** The county's own first. */
  equipmentProfiles: string[]
  summary: ClassSummary
  /** Sign-in is open: on the day of the class or later, and not cancelled. */
  signInOpen: boolean
  fields: { on: CivilDate; from: WallTime; until: WallTime; positionKey: string | null }
  rows: SheetRow[]
}

/** A class with everybody on its list, in name order, those who wait at the end. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getClassSheetOrThrow(
  actor: Actor,
  countyId: string,
  classId: string,
): Promise<ClassSheet> {
  const county = await staffCounty(actor, countyId)
  if (!UUID.test(classId)) throw noClass()
  const row = await db().trainingClass.findFirst({
    where: { id: classId, countyId },
    include: { bookings: { include: { pollWorker: true } } },
  })
  if (!row) throw noClass()
  const ground = await groundOf(county, 'en')
  const states = seatingOf(row.bookings, { seats: row.seats, closed: row.closedAt !== null })
  const start = wallTimeAt(row.startsAt, county.timeZone)
  const today = civilDateAt(ground.at, county.timeZone)
  const [tasks, equipmentProfiles] = await Promise.all([
    handTasksOfPeople(
      countyId,
      row.bookings.map((b) => b.pollWorkerId),
      today,
    ),
    equipmentProfilesOf(county),
  ])
  const seesNeeds = can(actor, 'readAccommodations', countyId)
  const rows = row.bookings
    .filter((b) => b.cancelledAt === null)
    .map(
      (b): SheetRow => ({
        workerId: b.pollWorkerId,
        name: `${b.pollWorker.familyName}, ${b.pollWorker.givenName}`,
        countyRef: b.pollWorker.countyRef,
        wants: ground.positions.find((p) => p.key === b.pollWorker.wantsPositionKey)?.nameEn ?? null,
        signedIn: b.signedInAt !== null,
        state: states.get(b.id)!,
        accommodations: seesNeeds ? b.pollWorker.accommodations : null,
        tasks: tasks.get(b.pollWorkerId)?.tasks ?? [],
      }),
    )
  const waits = (r: SheetRow) => (r.state.state === 'waiting' ? r.state.place : 0)
  rows.sort((a, b) => waits(a) - waits(b) || a.name.localeCompare(b.name))
  return {
    county: { id: county.id, name: county.name },
    summary: summaryOf(row, ground),
    today,
    equipmentProfiles,
    signInOpen: row.cancelledAt === null && start.date <= today,
    fields: {
      on: start.date,
      from: start.time,
      until: wallTimeAt(row.endsAt, county.timeZone).time,
      positionKey: row.positionKey,
    },
    rows,
  }
}
