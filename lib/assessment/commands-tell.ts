import { db, type Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { env } from '@/lib/env'
import { systemClock } from '@/lib/kernel/clock'
import { writeNotice } from '@/lib/notices/outbox'
import { REACH_COLUMNS, reachOf } from '@/lib/people/reach'
import { designOrThrow } from './queries'
import type { RemarkOutcome } from './queries-appeals'

/** Who is told by mail what became of a quiz or an appeal. Their result page says the same; who has no address is shown to
 *  the office, which calls or writes. */

export const TELL_OF_REMARK = 'tell-of-re-mark'
/** People in one transaction of the job. */
const CHUNK = 100

const CONCERNED = {
  id: true,
  key: true,
  countyId: true,
  pollWorker: {
    select: {
      givenName: true,
      familyName: true,
      active: true,
      ...REACH_COLUMNS,
      county: { select: { name: true } },
    },
  },
} as const

type Concerned = NonNullable<Awaited<ReturnType<typeof concerned>>>[number]
const concerned = (tx: Tx, ids: string[]) =>
  tx.attempt.findMany({ where: { id: { in: ids } }, select: CONCERNED })

/** What every message says, and to whom; null where nothing can be sent. */
function letterTo(attempt: Concerned) {
  const { pollWorker: person, key, id } = attempt
  const reach = reachOf(person)
  if (!person.active || !reach.address) return null
  return {
    to: { address: reach.address, locale: reach.locale, accountId: reach.accountId },
    values: {
      name: `${person.givenName} ${person.familyName}`,
      quiz: designOrThrow(key).names[reach.locale],
      link: `${env().PUBLIC_URL ?? ''}/quiz/result/${id}`,
      office: person.county.name,
    },
  }
}

/** Tells a person what was decided about their appeal, in the caller's transaction. */
export async function tellOfAppeal(tx: Tx, at: Date, appealId: string): Promise<void> {
  const appeal = await tx.appeal.findUniqueOrThrow({ where: { id: appealId } })
  const [attempt] = await concerned(tx, [appeal.attemptId])
  const letter = attempt && letterTo(attempt)
  if (!letter || !appeal.decision) return
  await writeNotice(tx, {
    kind: 'appeal-decided',
    to: letter.to,
    values: { ...letter.values, upheld: appeal.decision === 'upheld', why: appeal.decisionText ?? '' },
    countyId: appeal.countyId,
    onceKey: `appeal-decided:${appeal.id}`,
    at,
  })
}

/** Tells everybody whose result a re-mark changed, and who had appealed. Safe to run twice: each is written to once. */
export async function tellOfRemark(remarkId: string): Promise<void> {
  const row = await db().remark.findUniqueOrThrow({ where: { id: remarkId } })
  const { changes } = row.outcome as unknown as RemarkOutcome
  const { countyId, quizKey, questionId, appliedAt, reason } = row
  for (let i = 0; i < changes.length; i += CHUNK)
    await transaction(async (tx) => {
      const part = changes.slice(i, i + CHUNK)
      const attempts = await concerned(
        tx,
        part.map((change) => change.attemptId),
      )
      for (const { attemptId, before, after } of part) {
        const attempt = attempts.find((each) => each.id === attemptId)
        const letter = attempt && letterTo(attempt)
        if (!letter) continue
        await writeNotice(tx, {
          kind: 'quiz-result-changed',
          to: letter.to,
          values: { ...letter.values, before, after, why: reason },
          countyId,
          onceKey: `quiz-result-changed:${remarkId}:${attemptId}`,
          at: systemClock.now(),
        })
      }
    })
  const told = new Set(changes.map((change) => change.attemptId))
  const appeals = await db().appeal.findMany({
    where: { countyId, questionId, decidedAt: appliedAt, attempt: { key: quizKey } },
    select: { id: true, attemptId: true },
  })
  // Who is told of another result needn't be told of the appeal too: the reason stands in both.
  for (const appeal of appeals)
    if (!told.has(appeal.attemptId)) await transaction((tx) => tellOfAppeal(tx, systemClock.now(), appeal.id))
}
