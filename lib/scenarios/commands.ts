import { randomInt } from 'node:crypto'
import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { recordFact } from '@/lib/certification/commands'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { canonicalJson, sha256Hex } from '@/lib/kernel/hash'
import type { Prisma } from '@/prisma/client/client'
import { findScenario } from './content'
import { replay } from './core/replay'
import {
  equipmentOf,
  type LessonDefinition,
  listEvents,
  ownAttemptOrThrow,
  profileForLesson,
  traineeOrThrow,
} from './queries'
import { type Locale, PlayEvent } from './schema'

/** Keeps a definition under the hash of its canonical JSON; the same definition is kept once. */
export async function keepDefinition(tx: Tx, kind: string, key: string, definition: object): Promise<string> {
  const text = canonicalJson(definition)
  const hash = sha256Hex(text)
  await tx.definitionVersion.createMany({
    data: [{ hash, kind, key, definition: JSON.parse(text) as Prisma.InputJsonValue }],
    skipDuplicates: true,
  })
  return hash
}

/** Held until the transaction ends: one person's starts come one after the other. */
export const lockWorker = (tx: Tx, workerId: string) =>
  tx.$executeRaw`SELECT 1 FROM "PollWorker" WHERE id = ${workerId}::uuid FOR UPDATE`

/** A seed that nobody can guess. 31 bits: fits PostgreSQL's integer. */
export const freshSeed = (): number => randomInt(0, 2 ** 31 - 1)

/** Goes on with the person's unfinished attempt at a lesson, or begins one. Two clicks at once give one attempt.
 *  @throws AppError NOT_FOUND */
export async function startLesson(
  actor: Actor,
  key: string,
  locale: Locale,
): Promise<{ attemptId: string; resumed: boolean }> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const worker = await traineeOrThrow(tx, actor)
    const found = findScenario(key)
    if (!found)
      throw new AppError('NOT_FOUND', {
        userMessage: 'There is no such lesson.',
        userMessageEs: 'No existe esa lección.',
      })
    await lockWorker(tx, worker.id)
    const open = await tx.attempt.findFirst({
      where: { pollWorkerId: worker.id, kind: 'lesson', key, finishedAt: null },
      orderBy: { startedAt: 'desc' },
      select: { id: true },
    })
    if (open) return { attemptId: open.id, resumed: true }
    const { profile } = profileForLesson(found.scenario, await equipmentOf(tx, worker))
    const definition: LessonDefinition = { scenario: found.scenario, profile }
    const definitionHash = await keepDefinition(tx, 'lesson', key, definition)
    const attempt = await tx.attempt.create({
      data: {
        countyId: worker.countyId,
        pollWorkerId: worker.id,
        kind: 'lesson',
        key,
        definitionHash,
        equipmentProfile: profile.id,
        locale,
        seed: freshSeed(),
        startedAt: at,
      },
    })
    await appendAudit(
      tx,
      { chain: worker.countyId, actorAccountId: actor.accountId, at },
      {
        event: 'attempt.started',
        subject: `attempt:${attempt.id}`,
        detail: { kind: 'lesson', key, definitionHash },
      },
    )
    return { attemptId: attempt.id, resumed: false }
  })
}

/** Longest log of one attempt; a lesson needs a few dozen events. */
const MOST_EVENTS = 5_000

export const AppendInput = z.object({
  /** Number of events that come before the first one here. */
  from: z.int().min(0).max(MOST_EVENTS),
  events: z.array(PlayEvent).max(500),
})

export type Appended =
  | { status: 'stored'; count: number; finished: boolean }
  /** Nothing was stored. `events`: the stored log, for a device that has another one. */
  | { status: 'conflict'; count: number; events: unknown[] }

/** Adds played events to the log of one's own lesson. Sending the same again changes nothing; what overlaps must be
 *  equal; a gap or another history is a conflict. The server replays the whole log, and when it reaches an end the
 *  attempt is finished, with its fact, once. @throws AppError NOT_FOUND, INVALID_INPUT */
export async function appendLessonEvents(
  actor: Actor,
  attemptId: string,
  input: z.output<typeof AppendInput>,
): Promise<Appended> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const attempt = await ownAttemptOrThrow(tx, actor, attemptId, 'lesson', 'lock')
    const stored = await listEvents(tx, attemptId)
    const overlap = stored.slice(input.from, input.from + input.events.length)
    const differs = overlap.some((event, i) => canonicalJson(event) !== canonicalJson(input.events[i]))
    const added = input.events.slice(overlap.length)
    if (input.from > stored.length || differs || (attempt.finishedAt && added.length > 0))
      return { status: 'conflict', count: stored.length, events: stored }
    const count = stored.length + added.length
    if (added.length === 0) return { status: 'stored', count, finished: attempt.finishedAt !== null }
    if (count > MOST_EVENTS)
      throw new AppError('INVALID_INPUT', {
        userMessage: 'This attempt has become too long. Please start the lesson again.',
        userMessageEs: 'Este intento es demasiado largo. Empiece la lección otra vez.',
      })
    await tx.attemptEvent.createMany({
      data: added.map((event, i) => ({
        attemptId,
        sequence: stored.length + i,
        event: event as Prisma.InputJsonValue,
        at,
      })),
    })
    const { scenario, profile } = attempt.definition.definition as unknown as LessonDefinition
    const outcome = replay(scenario, profile, [...(stored as PlayEvent[]), ...added])
    if (!outcome.finished) return { status: 'stored', count, finished: false }
    await tx.attempt.update({
      where: { id: attemptId },
      data: {
        finishedAt: at,
        scoreFraction: outcome.scoreFraction,
        passed: true,
        result: {
          scoreFraction: outcome.scoreFraction,
          critical: outcome.critical,
          byCompetency: outcome.byCompetency,
          marks: outcome.marks,
        } as unknown as Prisma.InputJsonValue,
      },
    })
    await recordFact(
      tx,
      { accountId: actor.accountId, at },
      {
        countyId: attempt.countyId,
        workerId: attempt.pollWorkerId,
        kind: 'lessonFinished',
        topic: attempt.key,
        on: civilDateAt(at, attempt.pollWorker.county.timeZone),
        scoreFraction: outcome.scoreFraction,
        equipmentProfile: attempt.equipmentProfile,
        onceKey: `attempt:${attemptId}`,
      },
    )
    await appendAudit(
      tx,
      { chain: attempt.countyId, actorAccountId: actor.accountId, at },
      {
        event: 'attempt.finished',
        subject: `attempt:${attemptId}`,
        detail: { kind: 'lesson', key: attempt.key, scoreFraction: outcome.scoreFraction, passed: true },
      },
    )
    return { status: 'stored', count, finished: true }
  })
}
