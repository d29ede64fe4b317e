import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db, type Tx } from '@/lib/db/client'
import { AppError } from '@/lib/kernel/errors'
import type { County, DefinitionVersion, PollWorker } from '@/prisma/client/client'
import {
  findEquipmentProfile,
  findScenario,
  listEquipmentProfiles,
  listScenarios,
  profilesFor,
} from './content'
import { profileFits } from './core/fit'
import { fillText } from './core/texts'
import type { EquipmentProfile, Locale, PlayEvent, Scenario, Source } from './schema'
import { PlayEvents } from './schema'

export type Trainee = PollWorker & { county: County }

const notThere = () =>
  new AppError('NOT_FOUND', {
    userMessage: 'There is no such page, or it belongs to somebody else.',
    userMessageEs: 'Esta página no existe o pertenece a otra persona.',
  })

/** The poll worker that the actor is. @throws AppError NOT_FOUND for accounts without a poll worker. */
export async function traineeOrThrow(tx: Tx, actor: Actor): Promise<Trainee> {
  const worker = actor.pollWorkerId
    ? await tx.pollWorker.findUnique({ where: { id: actor.pollWorkerId }, include: { county: true } })
    : null
  if (!worker) throw notThere()
  assertCan(actor, 'ownPath', worker.countyId)
  return worker
}

/** The equipment on which the person will work: that of their seat in the county's newest published roster, else the
 *  county's. A name that no shipped profile has gives the first shipped one, so that practice is always possible. */
export async function equipmentOf(
  tx: Tx,
  worker: Pick<Trainee, 'id' | 'countyId' | 'county'>,
): Promise<EquipmentProfile> {
  const newest = await tx.roster.findFirst({
    where: { countyId: worker.countyId, publishedAt: { not: null } },
    orderBy: { publishedAt: 'desc' },
    select: { id: true },
  })
  const seating = newest
    ? await tx.seating.findFirst({
        where: { rosterId: newest.id, pollWorkerId: worker.id },
        select: { seat: { select: { pollingPlace: { select: { equipmentProfile: true } } } } },
      })
    : null
  return (
    findEquipmentProfile(seating?.seat.pollingPlace.equipmentProfile ?? worker.county.equipmentProfile) ??
    listEquipmentProfiles()[0]!
  )
}

/** The profile to play a lesson on: the person's own where it fits, else the first that fits. `own` says which. */
export function profileForLesson(
  scenario: Scenario,
  wanted: EquipmentProfile,
): { profile: EquipmentProfile; own: boolean } {
  if (profileFits(scenario.needs, wanted)) return { profile: wanted, own: true }
  return { profile: profilesFor(scenario)[0] ?? wanted, own: false }
}

/** What an attempt at a lesson keeps: everything that its replay needs, as it was at the start. */
export interface LessonDefinition {
  scenario: Scenario
  profile: EquipmentProfile
}

export interface LessonSummary {
  key: string
  number: number
  group: Scenario['group']
  minutes: number
  title: string
  summary: string
  /** Begun and not yet at its end. */
  unfinished: boolean
  timesFinished: number
  /** Share of points, 0 to 1, of the best attempt here. */
  bestScoreFraction: number | null
}

const summaryOf = (scenario: Scenario, profile: EquipmentProfile, locale: Locale) => ({
  key: scenario.id,
  number: scenario.number,
  group: scenario.group,
  minutes: scenario.minutes,
  title: fillText(scenario.texts[locale].title ?? scenario.id, profile, locale),
  summary: fillText(scenario.texts[locale].summary ?? '', profile, locale),
})

/** Every lesson, with what the person has done of it. Two queries. */
export async function listLessons(actor: Actor, locale: Locale): Promise<LessonSummary[]> {
  const worker = await traineeOrThrow(db(), actor)
  const profile = await equipmentOf(db(), worker)
  const attempts = await db().attempt.findMany({
    where: { pollWorkerId: worker.id, kind: 'lesson' },
    select: { key: true, finishedAt: true, scoreFraction: true },
  })
  return listScenarios().map((scenario) => {
    const own = attempts.filter((a) => a.key === scenario.id)
    const scores = own.flatMap((a) => (a.finishedAt && a.scoreFraction !== null ? [a.scoreFraction] : []))
    return {
      ...summaryOf(scenario, profileForLesson(scenario, profile).profile, locale),
      unfinished: own.some((a) => !a.finishedAt),
      timesFinished: scores.length,
      bestScoreFraction: scores.length ? Math.max(...scores) : null,
    }
  })
}

export interface LessonPage extends LessonSummary {
  profileId: string
  profileName: string
  /** False where the lesson can't be played on the person's own equipment. */
  ownEquipment: boolean
}

/** One lesson as its page shows it. @throws AppError NOT_FOUND */
export async function getLessonOrThrow(actor: Actor, key: string, locale: Locale): Promise<LessonPage> {
  const worker = await traineeOrThrow(db(), actor)
  const found = findScenario(key)
  if (!found) throw notThere()
  const { profile, own } = profileForLesson(found.scenario, await equipmentOf(db(), worker))
  const attempts = await db().attempt.findMany({
    where: { pollWorkerId: worker.id, kind: 'lesson', key },
    select: { finishedAt: true, scoreFraction: true },
  })
  const scores = attempts.flatMap((a) => (a.finishedAt && a.scoreFraction !== null ? [a.scoreFraction] : []))
  return {
    ...summaryOf(found.scenario, profile, locale),
    unfinished: attempts.some((a) => !a.finishedAt),
    timesFinished: scores.length,
    bestScoreFraction: scores.length ? Math.max(...scores) : null,
    profileId: profile.id,
    profileName: profile.name[locale],
    ownEquipment: own,
  }
}

/** Definitions read lately, the oldest first. What stands under a hash never changes, and a sitting asks for the same
 *  one (some 40 kB) several times a question. */
const definitionsKept = new Map<string, DefinitionVersion>()
const MOST_KEPT = 300

/** The definition of this hash, which is there (a foreign key says so). Not to be changed by its readers. */
export async function definitionOf(tx: Tx, hash: string): Promise<DefinitionVersion> {
  const kept =
    definitionsKept.get(hash) ?? (await tx.definitionVersion.findUniqueOrThrow({ where: { hash } }))
  definitionsKept.delete(hash)
  definitionsKept.set(hash, kept)
  if (definitionsKept.size > MOST_KEPT) definitionsKept.delete(definitionsKept.keys().next().value!)
  return kept
}

/** An attempt that belongs to the actor; `lock`: held until the transaction ends, so that one attempt's changes come one
 *  after the other. @throws AppError NOT_FOUND for anybody else's, whatever their access. */
export async function ownAttemptOrThrow(
  tx: Tx,
  actor: Actor,
  attemptId: string,
  kind: 'lesson' | 'quiz',
  lock?: 'lock',
) {
  if (!/^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i.test(attemptId) || !actor.pollWorkerId) throw notThere()
  if (lock)
    await tx.$executeRaw`SELECT 1 FROM "Attempt"
      WHERE id = ${attemptId}::uuid AND "pollWorkerId" = ${actor.pollWorkerId}::uuid FOR UPDATE`
  const attempt = await tx.attempt.findUnique({
    where: { id: attemptId },
    include: { pollWorker: { include: { county: true } } },
  })
  if (!attempt || attempt.kind !== kind || attempt.pollWorkerId !== actor.pollWorkerId) throw notThere()
  assertCan(actor, 'ownPath', attempt.countyId)
  return { ...attempt, definition: await definitionOf(tx, attempt.definitionHash) }
}

/** The stored events of an attempt, in order. */
export async function listEvents(tx: Tx, attemptId: string): Promise<unknown[]> {
  const rows = await tx.attemptEvent.findMany({
    where: { attemptId },
    orderBy: { sequence: 'asc' },
    select: { event: true },
  })
  return rows.map((row) => row.event)
}

export interface LessonAttempt extends LessonDefinition {
  attemptId: string
  key: string
  events: PlayEvent[]
  finished: boolean
}

/** A lesson attempt with all that is needed to go on with it on any device. @throws AppError NOT_FOUND */
export async function getLessonAttemptOrThrow(actor: Actor, attemptId: string): Promise<LessonAttempt> {
  const attempt = await ownAttemptOrThrow(db(), actor, attemptId, 'lesson')
  const definition = attempt.definition.definition as unknown as LessonDefinition
  return {
    attemptId: attempt.id,
    key: attempt.key,
    scenario: definition.scenario,
    profile: definition.profile,
    events: PlayEvents.parse(await listEvents(db(), attempt.id)),
    finished: attempt.finishedAt !== null,
  }
}

export interface JobAid {
  key: string
  title: string
  summary: string
  lines: string[]
  equipment: string
  sources: { kind: Source['kind']; cite: string; fromMemory: boolean }[]
}

/** The one-page job aid of a lesson, from the lesson's own data. @throws AppError NOT_FOUND */
export async function getJobAidOrThrow(actor: Actor, key: string, locale: Locale): Promise<JobAid> {
  const worker = await traineeOrThrow(db(), actor)
  const found = findScenario(key)
  if (!found) throw notThere()
  const { profile } = profileForLesson(found.scenario, await equipmentOf(db(), worker))
  const texts = found.scenario.texts[locale]
  return {
    ...summaryOf(found.scenario, profile, locale),
    lines: found.scenario.jobAid.map((id) => fillText(texts[`job-aid.${id}`] ?? id, profile, locale)),
    equipment: profile.name[locale],
    sources: Object.values(found.scenario.sources).map(({ kind, cite, fromMemory }) => ({
      kind,
      cite,
      fromMemory,
    })),
  }
}
