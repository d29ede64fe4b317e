import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { db, type Tx } from '@/lib/db/client'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { canonicalJson, sha256Hex } from '@/lib/kernel/hash'
import { REACH_COLUMNS, reachOf } from '@/lib/people/reach'
import { definitionOf } from '@/lib/scenarios/queries'
import { loadBank } from './content'
import { type Mend, type MendedQuestion, mendsFor, remark } from './core/mend'
import { answersIn, answerTexts, type QuizEvent, rightTexts, type SittingDefinition } from './core/sitting'
import { designOrThrow } from './queries'
import { mendsOf } from './queries-mends'
import { type CountyHead, quizCountyOrThrow } from './queries-statistics'
import { newestWork, type WorkState } from './queries-work'
import type { Form, Question, QuizDesign, Result } from './schema'

export interface AppealRow {
  id: string
  questionId: string
  questionVersion: number
  stem: string
  right: string[]
  /** What the person had answered. */
  given: string[]
  text: string
  name: string
  enteredOn: CivilDate
  /** The day on which they asked staff, who entered it for them; null: entered by the person. */
  askedOn: CivilDate | null
  decision: 'upheld' | 'rejected' | null
  decisionText: string | null
}

export interface RemarkRow {
  id: string
  stem: string
  what: string
  reason: string
  appliedOn: CivilDate
  attempts: number
  changed: number
}

export interface AppealsPage {
  county: CountyHead
  design: QuizDesign
  appeals: AppealRow[]
  remarks: RemarkRow[]
  /** A re-mark that was ordered: under way, or how the newest one ended. */
  work: (WorkState & { stem: string; mendHref: string }) | null
  mayDecide: boolean
  mayEnter: boolean
}

/** What people said against questions of a quiz, the undecided first. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getAppealsPage(actor: Actor, countyId: string, quizKey: string): Promise<AppealsPage> {
  const county = await quizCountyOrThrow(actor, countyId)
  const design = designOrThrow(quizKey)
  const [work, appeals, remarks] = await Promise.all([
    newestWork(db(), countyId, quizKey, 'remark'),
    db().appeal.findMany({
      where: { countyId, attempt: { key: quizKey } },
      orderBy: [{ decision: { sort: 'asc', nulls: 'first' } }, { enteredAt: 'desc' }],
      take: 100,
      include: {
        attempt: { include: { pollWorker: { select: { givenName: true, familyName: true } } } },
      },
    }),
    db().remark.findMany({ where: { countyId, quizKey }, orderBy: { appliedAt: 'desc' } }),
  ])
  const answers = await answersByAttempt(
    db(),
    appeals.map((a) => a.attemptId),
  )
  return {
    county,
    design,
    mayDecide: can(actor, 'decideQuizzes', countyId),
    mayEnter: can(actor, 'runQuizzes', countyId),
    work: work && remarkWork(work),
    appeals: await Promise.all(
      appeals.map(async (appeal): Promise<AppealRow> => {
        const definition = (await definitionOf(db(), appeal.attempt.definitionHash))
          .definition as unknown as SittingDefinition
        const question = definition.questions.find((q) => q.id === appeal.questionId)!
        const { givenName, familyName } = appeal.attempt.pollWorker
        return {
          id: appeal.id,
          questionId: appeal.questionId,
          questionVersion: question.version,
          stem: question.texts.en.stem,
          right: rightTexts(question, 'en'),
          given: answerTexts(question, answers.get(appeal.attemptId)?.[appeal.questionId], 'en'),
          text: appeal.text,
          name: `${givenName} ${familyName}`,
          enteredOn: civilDateAt(appeal.enteredAt, county.timeZone),
          askedOn: appeal.askedOn as CivilDate | null,
          decision: appeal.decision as AppealRow['decision'],
          decisionText: appeal.decisionText,
        }
      }),
    ),
    remarks: remarks.map((row) => {
      const outcome = row.outcome as unknown as RemarkOutcome
      const question = loadBank().get(row.questionId)
      return {
        id: row.id,
        stem: question?.texts.en.stem ?? row.questionId,
        what: mendWords(row.mend as unknown as Mend, question),
        reason: row.reason,
        appliedOn: civilDateAt(row.appliedAt, county.timeZone),
        attempts: outcome.attempts,
        changed: outcome.changes.length,
      }
    }),
  }
}

function remarkWork({ order, ...state }: NonNullable<Awaited<ReturnType<typeof newestWork>>>) {
  const { questionId, version, mend } = order as { questionId: string; version: number; mend: string }
  return {
    ...state,
    stem: loadBank().get(questionId)?.texts.en.stem ?? questionId,
    mendHref: `${questionId}?version=${version}&mend=${encodeURIComponent(mend)}`,
  }
}

/** What a mend does, in words. */
export function mendWords(mend: Mend, question: Question | undefined): string {
  if (mend.kind === 'leave-out') return 'The question doesn’t count'
  const text = question?.texts.en.options[mend.option] ?? mend.option
  return mend.kind === 'also-right' ? `“${text}” counts as right too` : `“${text}” is the right answer`
}

export interface RemarkChange {
  attemptId: string
  before: { scoreFraction: number; passed: boolean }
  after: { scoreFraction: number; passed: boolean }
}
export interface RemarkOutcome {
  attempts: number
  changes: RemarkChange[]
}
export interface RemarkPlan {
  /** Of what it was computed from: applied only if this is still so. */
  mark: string
  attempts: number
  /** `mailed`: an e-mail address is known. */
  changes: (RemarkChange & { pollWorkerId: string; name: string; mailed: boolean; result: Result })[]
}

/** The last answers of some attempts, by attempt. */
export async function answersByAttempt(tx: Tx, attemptIds: string[]) {
  const events = await tx.attemptEvent.findMany({
    where: { attemptId: { in: attemptIds }, event: { path: ['type'], equals: 'answer' } },
    orderBy: [{ attemptId: 'asc' }, { sequence: 'asc' }],
    select: { attemptId: true, event: true },
  })
  const logs = new Map<string, QuizEvent[]>()
  for (const { attemptId, event } of events)
    logs.set(attemptId, [...(logs.get(attemptId) ?? []), event as unknown as QuizEvent])
  return new Map([...logs].map(([id, log]) => [id, answersIn(log)]))
}

/** Sittings that are read and marked at a time: what memory holds, and how often somebody hears how far it is. */
const CHUNK = 500

/** Marks again everybody of the county who had this version of the question, as if it were mended; changes nothing.
 *  Earlier mends of other questions stay. `onShare` is told how far it is (0 to 1). O(their answers). */
export async function planRemark(
  tx: Tx,
  countyId: string,
  quizKey: string,
  mended: MendedQuestion,
  onShare: (share: number) => void | Promise<void> = () => undefined,
): Promise<RemarkPlan> {
  const found = await tx.$queryRaw<{ id: string }[]>`
    SELECT a.id FROM "Attempt" a JOIN "DefinitionVersion" d ON d.hash = a."definitionHash"
    WHERE a."countyId" = ${countyId} AND a.kind = 'quiz' AND a.key = ${quizKey} AND a."finishedAt" IS NOT NULL
      AND a.form -> 'questionIds' ? ${mended.questionId}
      AND d.definition -> 'questions' @> ${JSON.stringify([{ id: mended.questionId, version: mended.questionVersion }])}::jsonb
    ORDER BY a.id`
  const ids = found.map((row) => row.id)
  const mends = [...(await mendsOf(tx, countyId, quizKey)), mended]
  const changes: RemarkPlan['changes'] = []
  for (let i = 0; i < ids.length; i += CHUNK) {
    await onShare(i / ids.length)
    changes.push(...(await changesAmong(tx, ids.slice(i, i + CHUNK), mends)))
  }
  const mark = sha256Hex(
    canonicalJson({ mended, ids, changes: changes.map(({ attemptId, after }) => ({ attemptId, after })) }),
  )
  return { mark, attempts: ids.length, changes }
}

async function changesAmong(tx: Tx, ids: string[], mends: MendedQuestion[]): Promise<RemarkPlan['changes']> {
  const attempts = await tx.attempt.findMany({
    where: { id: { in: ids } },
    orderBy: { id: 'asc' },
    include: { pollWorker: { select: { givenName: true, familyName: true, ...REACH_COLUMNS } } },
  })
  const answers = await answersByAttempt(tx, ids)
  const changes: RemarkPlan['changes'] = []
  for (const attempt of attempts) {
    const definition = (await definitionOf(tx, attempt.definitionHash))
      .definition as unknown as SittingDefinition
    const before = attempt.result as unknown as Result
    const result = remark(
      definition,
      attempt.form as unknown as Form,
      answers.get(attempt.id) ?? {},
      before,
      mends,
    )
    const same =
      Math.abs(result.scoreFraction - before.scoreFraction) < 1e-9 && result.passed === before.passed
    if (same) continue
    changes.push({
      attemptId: attempt.id,
      pollWorkerId: attempt.pollWorkerId,
      name: `${attempt.pollWorker.familyName}, ${attempt.pollWorker.givenName}`,
      mailed: reachOf(attempt.pollWorker).address !== null,
      before: { scoreFraction: before.scoreFraction, passed: before.passed },
      after: { scoreFraction: result.scoreFraction, passed: result.passed },
      result,
    })
  }
  return changes
}

export interface MendPage {
  county: CountyHead
  design: QuizDesign
  question: Question
  mends: { mend: Mend; words: string }[]
  chosen: Mend | null
  plan: RemarkPlan | null
  applied: boolean
}

/** The mends of a question, and for one of them whose result would change. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getMendPage(
  actor: Actor,
  countyId: string,
  quizKey: string,
  ask: { questionId: string; version: number; mend: string | undefined },
): Promise<MendPage> {
  const county = await quizCountyOrThrow(actor, countyId)
  assertCan(actor, 'decideQuizzes', countyId)
  const design = designOrThrow(quizKey)
  const question = await versionOrThrow(db(), countyId, quizKey, ask.questionId, ask.version)
  const mends = mendsFor(question)
  const chosen = mends.find((mend) => mendKey(mend) === ask.mend) ?? null
  const known = await mendsOf(db(), countyId, quizKey)
  const applied = known.some((m) => m.questionId === question.id && m.questionVersion === question.version)
  const mended = chosen && { questionId: question.id, questionVersion: question.version, mend: chosen }
  return {
    county,
    design,
    question,
    mends: mends.map((mend) => ({ mend, words: mendWords(mend, question) })),
    chosen,
    plan: mended && !applied ? await planRemark(db(), countyId, quizKey, mended) : null,
    applied,
  }
}

export const mendKey = (mend: Mend): string =>
  mend.kind === 'leave-out' ? mend.kind : `${mend.kind}:${mend.option}`

/** A question as it was on somebody's form in the county. @throws AppError NOT_FOUND */
export async function versionOrThrow(
  tx: Tx,
  countyId: string,
  quizKey: string,
  questionId: string,
  version: number,
): Promise<Question> {
  const [row] = await tx.$queryRaw<{ question: Question }[]>`
    SELECT q AS question
    FROM "DefinitionVersion" d, jsonb_array_elements(d.definition -> 'questions') q
    WHERE d.hash IN (SELECT "definitionHash" FROM "Attempt"
                     WHERE "countyId" = ${countyId} AND kind = 'quiz' AND key = ${quizKey})
      AND q ->> 'id' = ${questionId} AND (q ->> 'version')::int = ${version}
    ORDER BY d."createdAt" DESC LIMIT 1`
  if (!row)
    throw new AppError('NOT_FOUND', {
      userMessage: 'Nobody in this county had this version of the question.',
    })
  return row.question
}
