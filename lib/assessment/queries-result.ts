import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import type { Locale } from '@/lib/kernel/wording'
import { findEquipmentProfile, findScenario } from '@/lib/scenarios/content'
import { replay } from '@/lib/scenarios/core/replay'
import { fillText, textsFor, whyKey } from '@/lib/scenarios/core/texts'
import { listEvents, ownAttemptOrThrow } from '@/lib/scenarios/queries'
import type { Competency, PlayEvent } from '@/lib/scenarios/schema'
import type { Appeal } from '@/prisma/client/client'
import { withMends } from './core/mend'
import {
  answersIn,
  answerTexts,
  itemsOf,
  playedIn,
  type QuizEvent,
  rightTexts,
  type SittingDefinition,
  type SittingItem,
} from './core/sitting'
import { graceOf, type Retry, retryFor } from './queries'
import type { RemarkOutcome } from './queries-appeals'
import { mendsOf } from './queries-mends'
import type { Answers, Form, Question, Result } from './schema'

export interface Miss {
  n: number
  of: number
  text: string
  yours: string[]
  better: string[]
  why: string[]
  source: string | null
  critical: boolean
  /** Some points, not all. */
  partly: boolean
  /** Null for a story. */
  questionId: string | null
  /** What the person said against the question, and what came of it. */
  appeal: { decision: 'open' | 'upheld' | 'rejected'; why: string | null } | null
  /** False where the design doesn't show explanations. */
  told: boolean
  lesson: { key: string; title: string } | null
}

export interface QuizOutcome {
  key: string
  title: string
  passed: boolean
  /** Null where the design doesn't show it. */
  scoreFraction: number | null
  cutScoreFraction: number
  critical: boolean
  belowFloor: boolean
  handedInLate: boolean
  byCompetency: { competency: Competency; points: number; of: number; fraction: number; weak: boolean }[]
  misses: Miss[]
  /** Questions of the form that were mended after it was handed in, the newest first, and how the result changed. */
  mended: MendedForPerson[]
  retry: Retry
}

export interface MendedForPerson {
  n: number
  text: string
  why: string
  on: CivilDate
  /** Null: the result stayed the same. `beforeFraction` is null too where the design shows no score. */
  change: {
    beforeFraction: number | null
    afterFraction: number | null
    passedBefore: boolean
    passedAfter: boolean
  } | null
  /** The person had appealed against it. */
  appealed: boolean
}

/** The result of a quiz that was handed in; null while it is still open. @throws AppError NOT_FOUND */
export async function getQuizResultOrThrow(
  actor: Actor,
  attemptId: string,
  locale: Locale,
): Promise<QuizOutcome | null> {
  const attempt = await ownAttemptOrThrow(db(), actor, attemptId, 'quiz')
  if (!attempt.finishedAt) return null
  const { definition } = withMends(
    attempt.definition.definition as unknown as SittingDefinition,
    attempt.form as unknown as Form,
    await mendsOf(db(), attempt.countyId, attempt.key),
  )
  const result = attempt.result as unknown as Result
  const appeals = await db().appeal.findMany({ where: { attemptId } })
  const log = (await listEvents(db(), attemptId)) as QuizEvent[]
  const { design } = definition
  const items = itemsOf(definition, attempt.form as unknown as Form)
  const equipment = findEquipmentProfile(attempt.equipmentProfile)
  const lessonOf = (key: string): Miss['lesson'] => {
    const found = findScenario(key)?.scenario
    const title = found?.texts[locale].title
    return title && equipment ? { key, title: fillText(title, equipment, locale) } : null
  }
  const misses = items.flatMap((item, i): Miss[] => {
    const marked = result.items.find((m) => m.id === item.id)
    const critical = result.criticalMistakes.some((m) => m.in === item.id)
    if (!marked?.counted || (marked.fraction >= 1 && !critical)) return []
    const common = {
      n: i + 1,
      of: items.length,
      critical,
      partly: marked.fraction > 0 && marked.fraction < 1,
      told: design.shown.explanations !== 'none',
      questionId: item.kind === 'question' ? item.id : null,
      appeal: appealOf(appeals.find((appeal) => appeal.questionId === item.id)),
    }
    return [
      item.kind === 'question'
        ? {
            ...common,
            ...missedQuestion(item.question, answersIn(log), locale),
            lesson: lessonOf(item.question.practise),
          }
        : { ...common, ...missedStory(item, playedIn(log, item.id), locale), lesson: lessonOf(item.id) },
    ]
  })
  return {
    key: attempt.key,
    title: design.names[locale],
    passed: result.passed,
    scoreFraction: design.shown.score ? result.scoreFraction : null,
    cutScoreFraction: result.cutFraction,
    critical: result.reasons.includes('critical-mistake'),
    belowFloor: result.reasons.includes('below-floor'),
    handedInLate: attempt.dueAt !== null && attempt.finishedAt >= graceOf(attempt.dueAt),
    byCompetency: result.competencies.map((row) => ({
      competency: row.competency,
      points: row.earned,
      of: row.possible,
      fraction: row.fraction,
      weak: !row.met || row.fraction < 0.75,
    })),
    misses,
    mended: await mendedFor(attempt, items, design.shown.score, appeals, locale),
    retry: await retryFor(db(), attempt.pollWorker, design, systemClock.now()),
  }
}

async function mendedFor(
  attempt: {
    id: string
    countyId: string
    key: string
    finishedAt: Date | null
    pollWorker: { county: { timeZone: string } }
  },
  items: SittingItem[],
  showScore: boolean,
  appeals: readonly Appeal[],
  locale: Locale,
): Promise<MendedForPerson[]> {
  const rows = await db().remark.findMany({
    where: {
      countyId: attempt.countyId,
      quizKey: attempt.key,
      appliedAt: { gt: attempt.finishedAt! },
      questionId: { in: items.map((item) => item.id) },
    },
    orderBy: { appliedAt: 'desc' },
  })
  return rows.flatMap((row): MendedForPerson[] => {
    const at = items.findIndex((item) => item.id === row.questionId)
    const item = items[at]
    if (item?.kind !== 'question' || item.question.version !== row.questionVersion) return []
    const { changes } = row.outcome as unknown as RemarkOutcome
    const own = changes.find((change) => change.attemptId === attempt.id)
    return [
      {
        n: at + 1,
        text: item.question.texts[locale].stem,
        why: row.reason,
        on: civilDateAt(row.appliedAt, attempt.pollWorker.county.timeZone),
        change: own
          ? {
              beforeFraction: showScore ? own.before.scoreFraction : null,
              afterFraction: showScore ? own.after.scoreFraction : null,
              passedBefore: own.before.passed,
              passedAfter: own.after.passed,
            }
          : null,
        appealed: appeals.some((appeal) => appeal.questionId === row.questionId),
      },
    ]
  })
}

const appealOf = (appeal: Appeal | undefined): Miss['appeal'] =>
  appeal
    ? {
        decision: (appeal.decision as 'upheld' | 'rejected' | null) ?? 'open',
        why: appeal.decisionText,
      }
    : null

const sourceOf = (source: { kind: string; cite?: string | undefined }): string => source.cite ?? source.kind

function missedQuestion(question: Question, answers: Answers, locale: Locale) {
  return {
    text: question.texts[locale].stem,
    yours: answerTexts(question, answers[question.id], locale),
    better: rightTexts(question, locale),
    why: [question.texts[locale].explanation],
    source: sourceOf(question.source),
  }
}

/** What went wrong in a story: each act that was not sound, with the lesson's own explanation. */
function missedStory(item: Extract<SittingItem, { kind: 'story' }>, events: PlayEvent[], locale: Locale) {
  const { scenario, profile } = item
  const texts = textsFor(scenario, profile, locale)
  const outcome = replay(scenario, profile, events)
  const wrong = outcome.marks.filter((mark) => mark.counts && mark.judgement !== 'sound')
  return {
    text: texts.title ?? scenario.id,
    yours: wrong.flatMap((mark) => texts[`${mark.step}.${mark.act}`] ?? []),
    better: [],
    why: wrong.flatMap((mark) => texts[whyKey(mark)] ?? []),
    source: null,
  }
}
