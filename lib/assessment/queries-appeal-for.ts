import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { definitionOf } from '@/lib/scenarios/queries'
import { answerTexts, itemsOf, type SittingDefinition } from './core/sitting'
import { designOrThrow } from './queries'
import { answersByAttempt } from './queries-appeals'
import { type CountyHead, quizCountyOrThrow } from './queries-statistics'
import type { Form, QuizDesign } from './schema'

export interface AppealForPage {
  county: CountyHead
  design: QuizDesign
  /** Null: nobody of that number was looked for yet, or there is none. */
  person: { name: string; countyRef: string } | null
  /** Their marked sittings, newest first. */
  sittings: {
    attemptId: string
    startedOn: CivilDate
    passed: boolean
    scoreFraction: number
    onPaper: boolean
    mark: string
  }[]
  chosen: {
    attemptId: string
    startedOn: CivilDate
    /** In the order of the form. */
    questions: { id: string; n: number; stem: string; given: string[]; appealed: boolean }[]
  } | null
}

/** What an appeal can be entered against for a person: their marked sittings of a quiz, and the questions of one.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export async function getAppealForPage(
  actor: Actor,
  countyId: string,
  quizKey: string,
  ask: { countyRef: string | undefined; attemptId: string | undefined },
): Promise<AppealForPage> {
  const county = await quizCountyOrThrow(actor, countyId)
  assertCan(actor, 'runQuizzes', countyId)
  const design = designOrThrow(quizKey)
  const none = { county, design, person: null, sittings: [], chosen: null }
  const countyRef = ask.countyRef?.trim()
  const worker = countyRef
    ? await db().pollWorker.findFirst({
        where: { countyId, active: true, countyRef: { equals: countyRef, mode: 'insensitive' } },
        select: { id: true, givenName: true, familyName: true, countyRef: true },
      })
    : null
  if (!worker || worker.id === actor.pollWorkerId) return none
  const attempts = await db().attempt.findMany({
    where: { pollWorkerId: worker.id, kind: 'quiz', key: quizKey, finishedAt: { not: null } },
    orderBy: { startedAt: 'desc' },
    include: { appeals: { select: { questionId: true } } },
  })
  const chosen =
    attempts.find((a) => a.id === ask.attemptId) ?? (attempts.length === 1 ? attempts[0] : undefined)
  return {
    county,
    design,
    person: { name: `${worker.givenName} ${worker.familyName}`, countyRef: worker.countyRef },
    sittings: attempts.map((a) => ({
      attemptId: a.id,
      startedOn: civilDateAt(a.startedAt, county.timeZone),
      passed: a.passed === true,
      scoreFraction: a.scoreFraction ?? 0,
      onPaper: a.onPaper,
      mark: a.id.slice(-8).toUpperCase(),
    })),
    chosen: chosen
      ? {
          attemptId: chosen.id,
          startedOn: civilDateAt(chosen.startedAt, county.timeZone),
          questions: await questionsOf(chosen),
        }
      : null,
  }
}

async function questionsOf(attempt: {
  id: string
  definitionHash: string
  form: unknown
  appeals: { questionId: string }[]
}) {
  const definition = (await definitionOf(db(), attempt.definitionHash))
    .definition as unknown as SittingDefinition
  const answers = (await answersByAttempt(db(), [attempt.id])).get(attempt.id) ?? {}
  return itemsOf(definition, attempt.form as Form).flatMap((item, i) =>
    item.kind === 'story'
      ? []
      : [
          {
            id: item.id,
            n: i + 1,
            stem: item.question.texts.en.stem,
            given: answerTexts(item.question, answers[item.id], 'en'),
            appealed: attempt.appeals.some((appeal) => appeal.questionId === item.id),
          },
        ],
  )
}
