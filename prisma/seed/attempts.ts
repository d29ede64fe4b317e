import { findQuizDesign, loadBank } from '@/lib/assessment/content'
import { drawForm } from '@/lib/assessment/core/draw'
import { minutesFor } from '@/lib/assessment/core/mark'
import { markSitting, type QuizEvent, type SittingDefinition } from '@/lib/assessment/core/sitting'
import type { Question, QuizDesign } from '@/lib/assessment/schema'
import type { Policy } from '@/lib/certification/schema'
import type { CivilDate } from '@/lib/kernel/dates'
import { invariant } from '@/lib/kernel/errors'
import { canonicalJson, sha256Hex } from '@/lib/kernel/hash'
import type { Random } from '@/lib/kernel/random'
import { plusDays } from './day-numbers'
import { leavesToMeet } from './history'
import type { StandingPlan } from './plan'
import { answerOf, behavioursOf, normal } from './quiz-answers'
import type { AttemptEventRow, AttemptRow, DefinitionRow, FactRow, PollWorkerRow } from './rows'

/** The quiz as it was sat in the years before: two questions of each competency from a bank that was smaller then. */
export interface SeedQuiz {
  definition: SittingDefinition
  hash: string
}

function groupBy<T, K>(list: readonly T[], keyOf: (value: T) => K): Map<K, T[]> {
  const groups = new Map<K, T[]>()
  for (const value of list) groups.set(keyOf(value), [...(groups.get(keyOf(value)) ?? []), value])
  return groups
}

const QUIZ = 'polls-basics'
const OLD_BANK = 4
const ASKED = 2

export function readSeedQuiz(): SeedQuiz | undefined {
  const design = findQuizDesign(QUIZ)
  if (!design) return undefined
  const byCompetency = groupBy(
    [...loadBank().values()].filter((q) => q.lifecycle === 'live').sort((a, b) => (a.id < b.id ? -1 : 1)),
    (q) => q.competency,
  )
  const asked = [...byCompetency]
    .filter(([, own]) => own.length >= ASKED)
    .sort(([a], [b]) => (a < b ? -1 : 1))
  if (asked.length === 0) return undefined
  const old: QuizDesign = {
    ...design,
    blueprint: {
      cells: asked.map(([competency]) => ({ competency, count: ASKED })),
      mustInclude: [],
      trialItems: 0,
    },
    scenarios: [],
    expectedTolerance: 1,
  }
  const questions = asked.flatMap(([, own]) => spreadOver(own)).sort((a, b) => (a.id < b.id ? -1 : 1))
  const definition: SittingDefinition = { design: old, questions, stories: [] }
  return { definition, hash: sha256Hex(canonicalJson(definition)) }
}

/** Some questions from all over the list: easy and hard, of several kinds. */
const spreadOver = (own: readonly Question[]): Question[] =>
  Array.from(
    { length: Math.min(OLD_BANK, own.length) },
    (_, i) => own[Math.floor((i * own.length) / OLD_BANK)]!,
  )

export interface AttemptsWanted {
  quiz: SeedQuiz
  /** The score of each pass is set to that of its attempt. */
  facts: readonly FactRow[]
  pollWorkers: readonly PollWorkerRow[]
  plans: readonly StandingPlan[]
  policies: readonly Policy[]
  equipmentProfile: string
}

/** A sitting for each pass of the quiz among the facts, with the failed ones before it; some of those who have only
 *  begun failed once. Answers come from a model of ability and difficulty and are marked as in the product.
 *  O(sittings × questions). */
export function tellAttempts(
  random: Random,
  nextId: () => string,
  wanted: AttemptsWanted,
): { definitions: DefinitionRow[]; attempts: AttemptRow[]; attemptEvents: AttemptEventRow[] } {
  const { definition, hash } = wanted.quiz
  const { design } = definition
  const bank = new Map(definition.questions.map((q) => [q.id, q]))
  const behaviours = behavioursOf(definition.questions)
  const exposure = new Map<string, number>()
  const attempts: AttemptRow[] = []
  const attemptEvents: AttemptEventRow[] = []
  const passes = wanted.facts.filter((f) => f.kind === 'quizPassed' && f.topic === QUIZ)
  const middle = passes.map((f) => f.happenedOn).sort()[Math.floor(passes.length / 2)] ?? ''
  const passesOf = groupBy(passes, (f) => f.pollWorkerId)

  wanted.pollWorkers.forEach((person, i) => {
    const { track, standing } = wanted.plans[i]!
    const ability = normal(random) + 0.4
    const earlierForms: string[][] = []
    const least = leastScore(wanted.policies, track)

    function sit(on: CivilDate, practised: number) {
      const seed = random.below(2 ** 31 - 1)
      const drawn = drawForm({ design, bank, seed, exposure, earlierForms: earlierForms.slice(-1) })
      const form = drawn.status === 'drawn' ? drawn.form : null
      invariant(form, 'the old bank fills the old quiz')
      const log = form.questionIds.map((id): QuizEvent => {
        const q = bank.get(id)!
        return {
          type: 'answer',
          question: id,
          answer: answerOf(random, q, behaviours.get(id)!, ability + practised, on > middle),
        }
      })
      return { on, form, log, result: markSitting(definition, form, log) }
    }
    function keep({ on, form, log, result }: ReturnType<typeof sit>): string {
      const id = nextId()
      const minutes = minutesFor(design, Math.max(1, person.timeMultiplier))
      // Between nine and five by the county's clock.
      const startedAt = new Date(Date.parse(`${on}T15:00:00Z`) + random.below(7 * 3600) * 1000)
      const took = Math.round(minutes * 60 * (0.3 + 0.5 * random.next()))
      const at = (seconds: number) => new Date(startedAt.getTime() + Math.round(seconds) * 1000)
      for (const questionId of form.questionIds) exposure.set(questionId, (exposure.get(questionId) ?? 0) + 1)
      earlierForms.push(form.questionIds)
      attempts.push({
        id,
        countyId: person.countyId,
        pollWorkerId: person.id,
        kind: 'quiz',
        key: QUIZ,
        definitionHash: hash,
        equipmentProfile: wanted.equipmentProfile,
        locale: person.languages[0] === 'es' ? 'es' : 'en',
        seed: form.seed,
        form,
        startedAt,
        dueAt: at(minutes * 60),
        finishedAt: at(took),
        scoreFraction: result.scoreFraction,
        passed: result.passed,
        result,
      })
      log.forEach((event, sequence) => {
        attemptEvents.push({
          attemptId: id,
          sequence,
          event: event as object,
          at: at((took * (sequence + 1)) / (log.length + 1)),
        })
      })
      return id
    }

    for (const fact of passesOf.get(person.id) ?? [])
      for (let tries = 0; ; tries++) {
        const on = fact.happenedOn as CivilDate
        // Who fails practises, and comes back better; after some tries anybody has learnt it.
        const sitting = sit(on, 0.6 * tries)
        if (sitting.result.passed && sitting.result.scoreFraction >= least) {
          fact.scoreFraction = sitting.result.scoreFraction
          fact.onceKey = `attempt:${keep(sitting)}`
          break
        }
        if (!sitting.result.passed && tries < 2) keep({ ...sitting, on: plusDays(on, tries - 3) })
      }
    if (standing === 'begun') {
      const lesson = wanted.facts.find((f) => f.pollWorkerId === person.id && f.kind === 'lessonFinished')
      const sitting = sit((lesson?.happenedOn ?? middle) as CivilDate, -0.8)
      if (lesson && !sitting.result.passed) keep(sitting)
    }
  })
  return {
    definitions: [{ hash, kind: 'quiz', key: QUIZ, definition: definition as unknown as object }],
    attempts,
    attemptEvents,
  }
}

/** The least score that the rules of a position take for the quiz. */
function leastScore(policies: readonly Policy[], track: string): number {
  const policy = policies.find((p) => p.certificateKey === track)
  if (!policy) return 0
  const scores = policy.ruleSets
    .flatMap((set) => leavesToMeet(set.requirement))
    .filter((leaf) => leaf.fact === 'quizPassed' && leaf.topic === QUIZ)
  return Math.max(0, ...scores.map((leaf) => leaf.minScoreFraction ?? 0))
}
