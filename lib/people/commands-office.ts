import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { AuditEvent } from '@/lib/audit/events'
import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { dateInWords } from '@/lib/kernel/date-words'
import { addDays, type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { unknownPrecinct } from '@/lib/places/commands'
import { payFor, payRatesOf } from './pay'

/** A person of the county, locked; whoever may not change people there is told that it isn't there.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export async function personToChange(tx: Tx, actor: Actor, of: { countyId: string; workerId: string }) {
  await tx.$queryRaw`SELECT 1 FROM "PollWorker" WHERE id = ${of.workerId}::uuid FOR UPDATE`
  const worker = await tx.pollWorker.findUnique({ where: { id: of.workerId } })
  if (!worker || worker.countyId !== of.countyId)
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such person, or they belong to another county.',
    })
  assertCan(actor, 'changePeople', worker.countyId)
  return worker
}

export const keep = (tx: Tx, actor: Actor, countyId: string, at: Date, record: AuditEvent) =>
  appendAudit(tx, { chain: countyId, actorAccountId: actor.accountId, at }, record)

export const Who = { countyId: z.string().min(1).max(100), workerId: z.uuid() }
export const Text = (most: number) => z.string().trim().max(most, `Use at most ${most} characters.`)
const orNull = (text: string) => text || null
const YesNo = z.enum(['yes', 'no']).transform((answer) => answer === 'yes')
const OptionalNumber = (low: number, high: number, hint: string) =>
  z
    .string()
    .trim()
    .transform((text, context): number | null => {
      if (text === '') return null
      const number = Number(text)
      if (Number.isFinite(number) && number >= low && number <= high) return number
      context.addIssue({ code: 'custom', message: hint })
      return z.NEVER
    })

export const CorrectionInput = z.object({
  ...Who,
  givenName: Text(100).min(1, 'Give a name.'),
  familyName: Text(100).min(1, 'Give a name.'),
  birthYear: OptionalNumber(1900, 2030, 'Give a year like 1956, or nothing.').pipe(z.int().nullable()),
  phone: Text(40).transform(orNull),
  email: Text(200)
    .toLowerCase()
    .refine(
      (text) => text === '' || z.email().safeParse(text).success,
      'Give an address like ana@example.org.',
    )
    .transform(orNull),
  languages: z
    .string()
    .transform((text) => [
      ...new Set(
        text
          .toLowerCase()
          .split(/[\s,;]+/)
          .filter(Boolean),
      ),
    ])
    .refine(
      (keys) => keys.every((key) => /^[a-z]{2,3}$/.test(key)),
      'Give language codes like en, es, separated by commas.',
    ),
  student: YesNo.optional(),
  livesOutside: YesNo.optional(),
  homePrecinct: Text(50).transform(orNull).optional(),
  party: Text(60).transform(orNull).optional(),
  homeAddress: Text(300).transform(orNull).optional(),
  homeLat: OptionalNumber(-90, 90, 'Give degrees from −90 to 90, or nothing.').optional(),
  homeLon: OptionalNumber(-180, 180, 'Give degrees from −180 to 180, or nothing.').optional(),
  confidentialAddress: YesNo.optional(),
  accommodations: Text(1000).transform(orNull).optional(),
  timeMultiplier: z.coerce.number().min(1).max(4).optional(),
})

/** Corrects what is known of a person. A field that the form leaves out stays; each one needs the permission to read
 *  it, and an address under protection the permission for those. `oldPoint`: the address is another, the point on the
 *  map still that of before. @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT */
export async function correctPerson(
  actor: Actor,
  input: z.output<typeof CorrectionInput>,
): Promise<{ oldPoint: boolean }> {
  return transaction(async (tx) => {
    const worker = await personToChange(tx, actor, input)
    const { countyId, workerId, ...wanted } = input
    if (wanted.homePrecinct && !(wanted.livesOutside ?? worker.livesOutside))
      wanted.homePrecinct = await ownPrecinct(tx, countyId, wanted.homePrecinct, worker.homePrecinct)
    const changed = (Object.keys(wanted) as (keyof typeof wanted)[]).filter(
      (key) => wanted[key] !== undefined && JSON.stringify(wanted[key]) !== JSON.stringify(worker[key]),
    )
    const oldPoint =
      changed.includes('homeAddress') &&
      worker.homeLat !== null &&
      !changed.includes('homeLat') &&
      !changed.includes('homeLon')
    if (changed.length === 0) return { oldPoint }
    const touches = (...fields: (keyof typeof wanted)[]) => changed.some((key) => fields.includes(key))
    if (touches('party')) assertCan(actor, 'readParty', countyId)
    if (touches('accommodations', 'timeMultiplier')) assertCan(actor, 'readAccommodations', countyId)
    const address = touches('homePrecinct', 'homeAddress', 'homeLat', 'homeLon', 'confidentialAddress')
    if (address) assertCan(actor, 'readHomeAddress', countyId)
    if (address && worker.confidentialAddress && !can(actor, 'readConfidentialAddress', countyId))
      throw new AppError('FORBIDDEN', {
        userMessage:
          'This address is protected: only an administrator of the county changes it or ends the protection. Nothing was saved.',
      })
    const at = { lat: wanted.homeLat, lon: wanted.homeLon }
    if ((at.lat === null) !== (at.lon === null))
      throw new AppError('INVALID_INPUT', {
        userMessage: 'Give both latitude and longitude, or neither. Nothing was saved.',
        fields: { homeLat: 'One of the two is missing.' },
      })
    await tx.pollWorker.update({ where: { id: workerId }, data: wanted })
    await keep(tx, actor, countyId, systemClock.now(), {
      event: 'worker.corrected',
      subject: `worker:${workerId}`,
      detail: { changed },
    })
    return { oldPoint }
  })
}

/** A precinct's code as the county writes it. What stands there already may stay; whoever lives outside has another
 *  county's. @throws AppError INVALID_INPUT with a code that exists */
async function ownPrecinct(tx: Tx, countyId: string, code: string, before: string | null): Promise<string> {
  if (code === before) return code
  const found = await tx.precinct.findFirst({
    where: { countyId, code: { equals: code, mode: 'insensitive' } },
  })
  if (found) return found.code
  throw new AppError('INVALID_INPUT', {
    userMessage: 'Please check the marked fields. Nothing was saved yet.',
    fields: { homePrecinct: await unknownPrecinct(tx, countyId, code) },
  })
}

export const NoteInput = z.object({ ...Who, text: Text(2000).min(1, 'Write the note first.') })

/** Writes a note about a person; notes are never changed. @throws AppError NOT_FOUND, FORBIDDEN */
export async function writeNote(actor: Actor, input: z.output<typeof NoteInput>): Promise<void> {
  await transaction(async (tx) => {
    const { id: pollWorkerId, countyId } = await personToChange(tx, actor, input)
    const at = systemClock.now()
    const note = await tx.personNote.create({
      data: { countyId, pollWorkerId, text: input.text, accountId: actor.accountId, at },
    })
    await keep(tx, actor, countyId, at, {
      event: 'worker.note-written',
      subject: `worker:${pollWorkerId}`,
      detail: { noteId: note.id },
    })
  })
}

export const ExclusionInput = z
  .object({
    ...Who,
    kind: z.enum(['candidate', 'relative', 'conflict']),
    /** Code of the only place that it is about; empty: every place. */
    placeCode: Text(100),
    firstOn: CivilDateInput,
    lastOn: z.union([z.literal('').transform(() => null), CivilDateInput]),
    note: Text(500),
  })
  .refine((e) => e.lastOn === null || e.firstOn <= e.lastOn, {
    path: ['lastOn'],
    message: 'The last day comes before the first.',
  })

/** Keeps a person from serving, at one place or at all, from a day to a day. No roster is touched; the board marks
 *  their seats. @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT */
export async function excludePerson(actor: Actor, input: z.output<typeof ExclusionInput>): Promise<void> {
  await transaction(async (tx) => {
    const { id: pollWorkerId, countyId } = await personToChange(tx, actor, input)
    const place = input.placeCode
      ? await tx.pollingPlace.findFirst({
          where: { countyId, code: { equals: input.placeCode, mode: 'insensitive' } },
        })
      : null
    if (input.placeCode && !place)
      throw new AppError('INVALID_INPUT', {
        userMessage: 'Please check the marked fields. Nothing was saved yet.',
        fields: { placeCode: 'No place of this county has this code. Leave it empty for every place.' },
      })
    const at = systemClock.now()
    const { kind, firstOn, lastOn, note } = input
    const row = await tx.exclusion.create({
      data: {
        ...{ countyId, pollWorkerId, kind, firstOn, lastOn, note },
        pollingPlaceId: place?.id ?? null,
        recordedBy: actor.accountId,
        recordedAt: at,
      },
    })
    await keep(tx, actor, countyId, at, {
      event: 'worker.excluded',
      subject: `worker:${pollWorkerId}`,
      detail: { exclusionId: row.id },
    })
  })
}

export const TakeBackInput = z.object({ ...Who, id: z.uuid() })
export type TakeBack = z.output<typeof TakeBackInput>

/** Takes back an exclusion; a second time changes nothing. @throws AppError NOT_FOUND, FORBIDDEN */
export async function takeBackExclusion(actor: Actor, input: TakeBack): Promise<void> {
  await transaction(async (tx) => {
    const { id: pollWorkerId, countyId } = await personToChange(tx, actor, input)
    const at = systemClock.now()
    const { count } = await tx.exclusion.updateMany({
      where: { id: input.id, pollWorkerId, takenBackAt: null },
      data: { takenBackAt: at, takenBackBy: actor.accountId },
    })
    if (count === 0) return
    await keep(tx, actor, countyId, at, {
      event: 'worker.exclusion-taken-back',
      subject: `worker:${pollWorkerId}`,
      detail: { exclusionId: input.id },
    })
  })
}

export const PayInput = z.object({
  ...Who,
  electionId: z.uuid(),
  positionKey: z.string().min(1).max(100),
  servedOn: CivilDateInput,
  hours: z
    .string()
    .trim()
    .refine((text) => /^\d{1,2}(\.\d{1,2})?$/.test(text) && Number(text) <= 24, 'Give hours like 14 or 6.5.')
    .transform((text) => Math.round(Number(text) * 60)),
  note: Text(500),
})

/** Records what somebody earned on a day, at the county's rate as it is now. @throws AppError NOT_FOUND, FORBIDDEN,
 *  INVALID_INPUT where there is no rate, CONFLICT where the day is recorded already. */
export async function recordPay(actor: Actor, input: z.output<typeof PayInput>): Promise<void> {
  await transaction(async (tx) => {
    const { id: pollWorkerId, countyId } = await personToChange(tx, actor, input)
    const election = await tx.election.findUnique({ where: { id: input.electionId } })
    if (election?.countyId !== countyId)
      throw new AppError('NOT_FOUND', { userMessage: 'There is no such election in this county.' })
    const county = await tx.county.findUniqueOrThrow({ where: { id: countyId } })
    const rate = payRatesOf(county.settings)[input.positionKey]
    if (!rate)
      throw new AppError('INVALID_INPUT', {
        userMessage:
          'This position has no rate yet. Set it on the page “Service and pay”, then record the hours.',
      })
    const { positionKey, servedOn, note, electionId, hours: minutes } = input
    await assertServiceDay(tx, county.timeZone, election, servedOn)
    const sameDay = { pollWorkerId, positionKey, servedOn, takenBackAt: null }
    if (await tx.payEntry.findFirst({ where: sameDay }))
      throw new AppError('CONFLICT', {
        userMessage: 'This day is recorded already. Take that entry back first if it is wrong.',
      })
    const at = systemClock.now()
    const row = await tx.payEntry.create({
      data: {
        ...{ countyId, pollWorkerId, electionId, positionKey, servedOn, minutes, note, ...rate },
        amountCents: payFor(rate, minutes),
        recordedBy: actor.accountId,
        recordedAt: at,
      },
    })
    await keep(tx, actor, countyId, at, {
      event: 'worker.pay-recorded',
      subject: `worker:${pollWorkerId}`,
      detail: { payEntryId: row.id },
    })
  })
}

/** Setting up before, taking things back after: common practice. */
const DAYS_AROUND = 7

/** @throws AppError INVALID_INPUT for a day to come, or one far from the days of the election */
async function assertServiceDay(
  tx: Tx,
  timeZone: string,
  election: { id: string; name: string; heldOn: string },
  servedOn: CivilDate,
): Promise<void> {
  const { _min, _max } = await tx.seat.aggregate({
    where: { electionId: election.id },
    _min: { servesOn: true },
    _max: { servesOn: true },
  })
  const days = [_min.servesOn ?? election.heldOn, election.heldOn, _max.servesOn ?? election.heldOn].sort()
  const [first, last] = [days[0] as CivilDate, days.at(-1) as CivilDate]
  const inWords = (day: CivilDate) => dateInWords(day, 'en')
  const wrong =
    servedOn > civilDateAt(systemClock.now(), timeZone)
      ? 'This day lies in the future. Record it once it was served.'
      : servedOn < addDays(first, -DAYS_AROUND) || servedOn > addDays(last, DAYS_AROUND)
        ? `${election.name} is ${first === last ? `on ${inWords(first)}` : `from ${inWords(first)} to ${inWords(last)}`}; this day lies more than a week away. Choose the election that it belongs to, or correct the day.`
        : null
  if (wrong)
    throw new AppError('INVALID_INPUT', {
      userMessage: 'Please check the marked fields. Nothing was saved yet.',
      fields: { servedOn: wrong },
    })
}

/** Takes back an entry of pay; a second time changes nothing. @throws AppError NOT_FOUND, FORBIDDEN */
export async function takeBackPay(actor: Actor, input: TakeBack): Promise<void> {
  await transaction(async (tx) => {
    const { id: pollWorkerId, countyId } = await personToChange(tx, actor, input)
    const at = systemClock.now()
    const { count } = await tx.payEntry.updateMany({
      where: { id: input.id, pollWorkerId, takenBackAt: null },
      data: { takenBackAt: at, takenBackBy: actor.accountId },
    })
    if (count === 0) return
    await keep(tx, actor, countyId, at, {
      event: 'worker.pay-taken-back',
      subject: `worker:${pollWorkerId}`,
      detail: { payEntryId: input.id },
    })
  })
}
