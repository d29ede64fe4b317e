import { listQuizzes } from '@/lib/assessment/queries'
import type { Actor } from '@/lib/auth/actor'
import { todo } from '@/lib/certification/core/todo'
import { todoLines } from '@/lib/certification/core/todo-lines'
import {
  type CertificateSummary,
  getStandingOrThrow,
  listElectionDates,
  listFacts,
  listPolicies,
  type WorkerStanding,
} from '@/lib/certification/queries'
import { type CertificateCard, listCertificates } from '@/lib/certification/queries-certificates'
import type { EvidenceRule, Fact, FactKind, Policy, Requirement } from '@/lib/certification/schema'
import { db } from '@/lib/db/client'
import { addMonths, type CivilDate } from '@/lib/kernel/dates'
import type { Locale } from '@/lib/kernel/wording'
import { listLessons, traineeOrThrow } from '@/lib/scenarios/queries'

/** What must be done anew so that a certificate goes on. */
export interface RenewalStep {
  label: string
  /** Done on this day or later it carries over; null: however early. */
  doFrom: CivilDate | null
}

export interface MyCertificate extends CertificateCard {
  name: string
  standing: CertificateSummary | null
  /** For one that is valid and ends: empty where nothing can be done yet. */
  toRenew: RenewalStep[]
}

export interface HistoryEntry {
  id: string
  kind: FactKind
  on: CivilDate
  /** What it was about, in words. */
  topic: string
  scoreFraction: number | null
  takenBack: boolean
}

export interface MyCertificates {
  standing: WorkerStanding
  certificates: MyCertificate[]
  history: HistoryEntry[]
}

/** A renewal should carry at least so far beyond the present end. Our own choice. */
const RENEWAL_MONTHS = 3

const leavesOf = (r: Requirement): EvidenceRule[] => (r.kind === 'evidence' ? [r] : r.of.flatMap(leavesOf))

/** Everything that 'My certificates' shows. Only for the person. @throws AppError NOT_FOUND */
export async function getMyCertificatesOrThrow(actor: Actor, locale: Locale): Promise<MyCertificates> {
  const worker = await traineeOrThrow(db(), actor)
  const [standing, cards, policies, elections, factsOf, lessons, quizzes] = await Promise.all([
    getStandingOrThrow(actor, worker.id),
    listCertificates(actor, worker.id),
    listPolicies(db(), worker.countyId),
    listElectionDates(db(), worker.countyId),
    listFacts(db(), worker.countyId, [worker.id]),
    listLessons(actor, locale),
    listQuizzes(actor, locale),
  ])
  const facts = factsOf.get(worker.id) ?? []
  const titles = new Map<string, string>([
    ...lessons.map((lesson) => [`lessonFinished ${lesson.key}`, lesson.title] as const),
    ...quizzes.map((quiz) => [`quizPassed ${quiz.key}`, quiz.title] as const),
    ...cards.map((card) => [`certificateRevoked ${card.certificateKey}`, card.roleName[locale]] as const),
    ...cards.map((card) => [`served ${card.certificateKey}`, card.roleName[locale]] as const),
  ])
  const renewal = (policy: Policy | undefined, until: CivilDate | null): RenewalStep[] => {
    if (!policy || !until) return []
    const missingOn = (day: CivilDate) =>
      todoLines(todo(policy, facts, elections, day).filter((item) => item.possible)).map((line) => ({
        label: line[locale],
        doFrom: line.doFrom,
      }))
    // What ends shortly after the first thing is named with it. Where no election is that far ahead, only the first.
    const soon = missingOn(addMonths(until, RENEWAL_MONTHS))
    return soon.length > 0 ? soon : missingOn(until)
  }
  return {
    standing,
    certificates: cards.map((card) => ({
      ...card,
      name: card.roleName[locale],
      standing: standing.certificates.find((c) => c.certificateKey === card.certificateKey) ?? null,
      toRenew: card.state === 'valid' ? renewal(policies.get(card.certificateKey), card.validUntil) : [],
    })),
    history: historyOf(facts, titles, policies, locale),
  }
}

function historyOf(
  facts: readonly Fact[],
  titles: ReadonlyMap<string, string>,
  policies: ReadonlyMap<string, Policy>,
  locale: Locale,
): HistoryEntry[] {
  const takenBack = new Set(facts.map((fact) => fact.revokes).filter((id) => id != null))
  const labels = new Map<string, string>(
    [...policies.values()].flatMap((policy) =>
      policy.ruleSets.flatMap((ruleSet) =>
        leavesOf(ruleSet.requirement).flatMap((rule) =>
          rule.label ? [[`${rule.fact} ${rule.topic}`, rule.label[locale]] as const] : [],
        ),
      ),
    ),
  )
  return [...facts].reverse().map((fact) => {
    const key = `${fact.kind} ${fact.topic}`
    return {
      id: fact.id,
      kind: fact.kind,
      on: fact.on,
      topic: titles.get(key) ?? labels.get(key) ?? fact.topic.replaceAll('-', ' '),
      scoreFraction: fact.scoreFraction ?? null,
      takenBack: takenBack.has(fact.id),
    }
  })
}
