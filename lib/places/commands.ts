import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { milesText } from '@/lib/kernel/miles'
import { MEASURES, type Measures } from './core/access-survey'
import { distanceKm } from './core/distance'

const Text = (most: number) => z.string().trim().max(most, `Use at most ${most} characters.`)
const County = { countyId: z.string().min(1).max(100) }
const Place = { ...County, placeId: z.uuid() }
const Degrees = (most: number) =>
  z
    .string()
    .trim()
    .refine(
      (text) => text !== '' && Math.abs(Number(text)) <= most,
      `Give degrees from −${most} to ${most}, like 41.87.`,
    )
    .transform(Number)

const missing = () =>
  new AppError('NOT_FOUND', { userMessage: 'There is no such place, or it belongs to another county.' })

/** A place of the county, locked until the change is kept. @throws AppError NOT_FOUND, FORBIDDEN */
export async function placeToChange(tx: Tx, actor: Actor, of: { countyId: string; placeId: string }) {
  await tx.$queryRaw`SELECT 1 FROM "PollingPlace" WHERE id = ${of.placeId}::uuid FOR UPDATE`
  const place = await tx.pollingPlace.findUnique({ where: { id: of.placeId } })
  if (!place || place.countyId !== of.countyId) throw missing()
  assertCan(actor, 'changePlaces', place.countyId)
  return place
}

const audit = (tx: Tx, actor: Actor, countyId: string, placeId: string, changed: string[]) =>
  appendAudit(
    tx,
    { chain: countyId, actorAccountId: actor.accountId, at: systemClock.now() },
    { event: 'place.changed', subject: `place:${placeId}`, detail: { changed } },
  )

export const PlaceInput = z.object({
  ...County,
  /** Empty: a new place. */
  placeId: z.union([z.literal('').transform(() => null), z.uuid()]),
  code: Text(50).min(1, 'Give the county’s own code of the place.'),
  name: Text(200).min(1, 'Give a name.'),
  address: Text(300).min(1, 'Give an address.'),
  lat: Degrees(90),
  lon: Degrees(180),
  kind: z.enum(['pollingPlace', 'voteCentre', 'earlyVotingSite']),
  equipmentProfile: Text(100).min(1, 'Choose the equipment.'),
  contactName: Text(100),
  contactPhone: Text(40),
  keysNote: Text(1000),
  features: z
    .string()
    .max(1000)
    .transform((text) => [
      ...new Set(
        text
          .split(/[,;\n]+/)
          .map((word) => word.trim())
          .filter(Boolean),
      ),
    ]),
})

/** Further than a county is wide, Alaska's aside: a sign or a digit is wrong. */
const TOO_FAR_KM = 1000

/** @throws AppError INVALID_INPUT where a point lies far from all the county's other places: a minus left out, mostly. */
export async function assertNearOthers(
  tx: Tx,
  of: { countyId: string; placeId: string | null; lat: number; lon: number },
): Promise<void> {
  const others = await tx.pollingPlace.findMany({
    where: { countyId: of.countyId, located: true, ...(of.placeId ? { id: { not: of.placeId } } : {}) },
    select: { lat: true, lon: true },
  })
  const nearest = Math.min(...others.map((o) => distanceKm([o.lat, o.lon], [of.lat, of.lon])))
  if (nearest > TOO_FAR_KM && nearest < Number.POSITIVE_INFINITY)
    throw new AppError('INVALID_INPUT', {
      userMessage: `This point lies ${milesText(nearest)} from the nearest other place of the county, ${others[0]!.lat}, ${others[0]!.lon} for example. Nothing was saved.`,
      fields: {
        lat: 'Check the degrees of latitude.',
        lon: 'Check the degrees and the sign: west is negative, like −91.3.',
      },
    })
}

/** Makes a place, or changes one. Its code is the county's own and used once. Returns its id. A place that moves for an
 *  election is moved by `movePlace`, which tells its people. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function savePlace(actor: Actor, input: z.output<typeof PlaceInput>): Promise<string> {
  const { placeId, countyId, ...wanted } = input
  return transaction(async (tx) => {
    assertCan(actor, 'changePlaces', countyId)
    const before = placeId ? await placeToChange(tx, actor, { countyId, placeId }) : null
    const same = await tx.pollingPlace.findUnique({
      where: { countyId_code: { countyId, code: wanted.code } },
    })
    if (same && same.id !== placeId)
      throw new AppError('CONFLICT', {
        userMessage: `The code ${wanted.code} is taken by ${same.name}. Nothing was saved.`,
        fields: { code: 'Choose another code.' },
      })
    if (!before || wanted.lat !== before.lat || wanted.lon !== before.lon)
      await assertNearOthers(tx, { countyId, placeId, lat: wanted.lat, lon: wanted.lon })
    if (!before) {
      const place = await tx.pollingPlace.create({ data: { countyId, ...wanted } })
      await appendAudit(
        tx,
        { chain: countyId, actorAccountId: actor.accountId, at: systemClock.now() },
        { event: 'place.made', subject: `place:${place.id}`, detail: { code: place.code } },
      )
      return place.id
    }
    const located = before.located || wanted.lat !== before.lat || wanted.lon !== before.lon
    const after = { ...wanted, located }
    const changed = (Object.keys(after) as (keyof typeof after)[]).filter(
      (key) => JSON.stringify(after[key]) !== JSON.stringify(before[key]),
    )
    if (changed.length > 0) {
      await tx.pollingPlace.update({ where: { id: before.id }, data: after })
      await audit(tx, actor, countyId, before.id, changed)
    }
    return before.id
  })
}

const Hour = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'Give a time like 07:00.')
const DayOrNone = z.union([z.literal('').transform(() => null), CivilDateInput])

export const OpeningInput = z
  .object({ ...Place, firstOn: DayOrNone, lastOn: DayOrNone, opensAt: Hour, closesAt: Hour })
  .refine((o) => o.opensAt < o.closesAt, { path: ['closesAt'], message: 'It closes before it opens.' })
  .refine((o) => o.firstOn !== null || o.lastOn === null, {
    path: ['firstOn'],
    message: 'Give the first day too, or neither for election day itself.',
  })
  .refine((o) => o.firstOn === null || o.lastOn === null || o.firstOn <= o.lastOn, {
    path: ['lastOn'],
    message: 'The last day comes before the first.',
  })

/** Opens a place to voters on days and hours; without days, on election day itself. A first day alone is that day.
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT where the days are there already. */
export async function addOpening(actor: Actor, input: z.output<typeof OpeningInput>): Promise<void> {
  await transaction(async (tx) => {
    const place = await placeToChange(tx, actor, input)
    const lastOn = input.lastOn ?? input.firstOn
    const own = await tx.opening.findMany({ where: { pollingPlaceId: place.id } })
    const overlaps = own.some((o) =>
      input.firstOn === null
        ? o.firstOn === null
        : o.firstOn !== null && o.firstOn <= lastOn! && input.firstOn <= (o.lastOn ?? o.firstOn),
    )
    if (overlaps)
      throw new AppError('CONFLICT', {
        userMessage: 'These days have hours already. Remove those first, then add the new ones.',
      })
    await tx.opening.create({
      data: {
        countyId: place.countyId,
        pollingPlaceId: place.id,
        firstOn: input.firstOn,
        lastOn,
        opensAt: input.opensAt,
        closesAt: input.closesAt,
      },
    })
    await audit(tx, actor, place.countyId, place.id, ['openings'])
  })
}

export const HoursInput = z
  .object({ ...County, opensAt: Hour, closesAt: Hour })
  .refine((o) => o.opensAt < o.closesAt, { path: ['closesAt'], message: 'It closes before it opens.' })

/** The hours of election day for every place that has none, but for sites that open early only. What has hours keeps
 *  them. Returns how many places were given some. @throws AppError NOT_FOUND, FORBIDDEN */
export async function setHours(actor: Actor, input: z.output<typeof HoursInput>): Promise<number> {
  const { countyId, opensAt, closesAt } = input
  assertCan(actor, 'changePlaces', countyId)
  return transaction(async (tx) => {
    const places = await tx.$executeRaw`
      INSERT INTO "Opening" (id, "countyId", "pollingPlaceId", "opensAt", "closesAt")
      SELECT gen_random_uuid(), p."countyId", p.id, ${opensAt}, ${closesAt} FROM "PollingPlace" p
      WHERE p."countyId" = ${countyId} AND p.kind <> 'earlyVotingSite' AND NOT EXISTS (
        SELECT 1 FROM "Opening" o WHERE o."pollingPlaceId" = p.id AND o."firstOn" IS NULL)`
    if (places > 0)
      await appendAudit(
        tx,
        { chain: countyId, actorAccountId: actor.accountId, at: systemClock.now() },
        { event: 'places.hours-set', subject: `county:${countyId}`, detail: { places } },
      )
    return places
  })
}

export const RemoveOpeningInput = z.object({ ...Place, openingId: z.uuid() })

export async function removeOpening(actor: Actor, input: z.output<typeof RemoveOpeningInput>): Promise<void> {
  await transaction(async (tx) => {
    const place = await placeToChange(tx, actor, input)
    const { count } = await tx.opening.deleteMany({
      where: { id: input.openingId, pollingPlaceId: place.id },
    })
    if (count > 0) await audit(tx, actor, place.countyId, place.id, ['openings'])
  })
}

export const EQUIPMENT_KINDS = ['checkIn', 'ballotStation', 'accessibleStation', 'scanner', 'other'] as const

export const EquipmentInput = z.object({
  ...Place,
  kind: z.enum(EQUIPMENT_KINDS),
  equipmentProfile: Text(100).min(1, 'Choose the equipment.'),
  count: z.coerce
    .number('Give a whole number from 0 to 200.')
    .int('Give a whole number from 0 to 200.')
    .min(0, 'Give a whole number from 0 to 200.')
    .max(200, 'Give a whole number from 0 to 200.'),
})

/** Says how many devices of a kind and profile stand in a place; 0 takes the line away.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export async function setEquipment(actor: Actor, input: z.output<typeof EquipmentInput>): Promise<void> {
  await transaction(async (tx) => {
    const place = await placeToChange(tx, actor, input)
    const { kind, equipmentProfile, count } = input
    const key = { pollingPlaceId: place.id, kind, equipmentProfile }
    if (count === 0) await tx.placeEquipment.deleteMany({ where: key })
    else
      await tx.placeEquipment.upsert({
        where: { pollingPlaceId_kind_equipmentProfile: key },
        create: { ...key, countyId: place.countyId, count },
        update: { count },
      })
    await audit(tx, actor, place.countyId, place.id, ['equipment'])
  })
}

export const PrecinctInput = z.object({ ...Place, precinctCode: Text(50).min(1, 'Give a precinct’s code.') })

/** Lets a place serve a precinct, which another served until now. Returns what changed, in words.
 *  @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT */
export async function servePrecinct(actor: Actor, input: z.output<typeof PrecinctInput>): Promise<string> {
  return transaction(async (tx) => {
    const place = await placeToChange(tx, actor, input)
    const { countyId } = place
    const precinct = await tx.precinct.findFirst({
      where: { countyId, code: { equals: input.precinctCode, mode: 'insensitive' } },
      include: { pollingPlace: { include: { _count: { select: { precincts: true } } } } },
    })
    if (!precinct)
      throw new AppError('INVALID_INPUT', {
        userMessage: 'Please check the marked fields. Nothing was saved yet.',
        fields: { precinctCode: await unknownPrecinct(tx, countyId, input.precinctCode) },
      })
    if (precinct.pollingPlaceId === place.id) return `Precinct ${precinct.code} is served here already.`
    await tx.precinct.update({ where: { id: precinct.id }, data: { pollingPlaceId: place.id } })
    await audit(tx, actor, countyId, place.id, [`precinct ${precinct.code}`])
    const { pollingPlace: before } = precinct
    return [
      `Precinct ${precinct.code} is served here now.`,
      before && `${before.code} ${before.name} served it before`,
      before && (before._count.precincts === 1 ? 'and serves none any more.' : 'and no longer does.'),
    ]
      .filter(Boolean)
      .join(' ')
  })
}

/** What to say of a precinct's code that the county doesn't have: with one that it has. */
export async function unknownPrecinct(tx: Tx, countyId: string, code: string): Promise<string> {
  const one = await tx.precinct.findFirst({ where: { countyId }, orderBy: { code: 'asc' } })
  return one
    ? `No precinct of this county has the code “${code}”. One that exists is ${one.code} (${one.name}).`
    : 'This county has no precincts yet: bring them in with the places first.'
}

const Measured = z
  .string()
  .trim()
  .refine((text) => text === '' || (Number(text) >= 0 && Number(text) <= 2000), 'Give a number, or nothing.')
  .transform((text) => (text === '' ? null : Number(text)))

export const SurveyInput = z.object({
  ...Place,
  surveyedOn: CivilDateInput,
  note: Text(1000),
  ...(Object.fromEntries(MEASURES.map((m) => [m.key, Measured])) as Record<
    (typeof MEASURES)[number]['key'],
    typeof Measured
  >),
})

/** Keeps what was measured at a place on a day; earlier surveys stay. @throws AppError NOT_FOUND, FORBIDDEN,
 *  INVALID_INPUT where nothing was measured. */
export async function recordSurvey(actor: Actor, input: z.output<typeof SurveyInput>): Promise<void> {
  await transaction(async (tx) => {
    const place = await placeToChange(tx, actor, input)
    const measures: Measures = {}
    for (const { key } of MEASURES) if (input[key] !== null) measures[key] = input[key]
    if (Object.keys(measures).length === 0)
      throw new AppError('INVALID_INPUT', {
        userMessage: 'Enter at least one measure. Nothing was saved.',
      })
    const at = systemClock.now()
    const county = await tx.county.findUniqueOrThrow({ where: { id: place.countyId } })
    if (input.surveyedOn > civilDateAt(at, county.timeZone))
      throw new AppError('INVALID_INPUT', {
        userMessage: 'Please check the marked fields. Nothing was saved yet.',
        fields: { surveyedOn: 'Choose today or an earlier day: the day on which it was measured.' },
      })
    const survey = await tx.accessSurvey.create({
      data: {
        countyId: place.countyId,
        pollingPlaceId: place.id,
        surveyedOn: input.surveyedOn,
        measures,
        note: input.note,
        recordedBy: actor.accountId,
        recordedAt: at,
      },
    })
    await appendAudit(
      tx,
      { chain: place.countyId, actorAccountId: actor.accountId, at },
      { event: 'place.surveyed', subject: `place:${place.id}`, detail: { surveyId: survey.id } },
    )
  })
}
