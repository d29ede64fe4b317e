import type { Actor } from '@/lib/auth/actor'
import { evidenceFor, openBook } from '@/lib/certification/core/evidence'
import { ruleSetOn } from '@/lib/certification/core/spans-of'
import { choosable, type Explanation, explain, type LeafReason } from '@/lib/certification/core/status'
import {
  type CertificateSummary,
  getStandingOrThrow,
  listElectionDates,
  listFacts,
  listPolicies,
  type WorkerStanding,
} from '@/lib/certification/queries'
import type { EvidenceRule } from '@/lib/certification/schema'
import { db } from '@/lib/db/client'
import type { CivilDate } from '@/lib/kernel/dates'
import type { Locale } from '@/lib/kernel/wording'
import { traineeOrThrow } from '@/lib/scenarios/queries'
import { lessonsOfPosition } from '@/lib/scenarios/queries-lesson-plan'

/** One step of the path to a certificate. */
export interface PathStep {
  kind: EvidenceRule['fact']
  topic: string
  label: string
  /** Counts on the day that matters (the next election day, else today). */
  done: boolean
  reason: LeafReason
  /** When it was done, where it is on record. */
  doneOn: CivilDate | null
  /** First day on which it no longer counts, where it ends. */
  until: CivilDate | null
  /** Done on this day or later it counts on the day that matters; null: however early. */
  doFrom: CivilDate | null
  /** False where it can't count any more for that day. */
  possible: boolean
  /** Other steps with the same text are alternatives: some of them are enough. Null: needed in any case. */
  choice: string | null
}

export interface MyPath {
  standing: WorkerStanding
  positions: { key: string; name: string }[]
  wanted: { key: string; name: string; certificate: CertificateSummary | null } | null
  /** Which part of the day the person offers. */
  offersShift: string
  /** Steps to the wanted position's certificate, in the rule's order. */
  steps: PathStep[]
  /** The first step that is missing and possible. */
  next: PathStep | null
  certificates: (CertificateSummary & { name: string })[]
  /** Keys of the lessons that the office has chosen for the wanted position, in the order in which to play them. */
  lessons: string[]
}

/** Leaves of a rule's tree in its order. Of a choice that holds already only what holds is kept. */
function leavesOf(
  node: Explanation,
  path: string,
  choice: string | null,
): { leaf: Explanation; path: string; choice: string | null }[] {
  if (node.kind === 'evidence') return [{ leaf: node, path, choice }]
  const open = choosable(node)
  const all = node.needed === open.length
  return open.flatMap(([i, part]) =>
    !all && node.holds && !part.holds
      ? []
      : leavesOf(part, path === '' ? `${i}` : `${path}.${i}`, all || node.holds ? choice : path || 'all'),
  )
}

/** Everything that 'My path' shows. Only for the person. @throws AppError NOT_FOUND */
export async function getMyPathOrThrow(actor: Actor, locale: Locale): Promise<MyPath> {
  const worker = await traineeOrThrow(db(), actor)
  const [standing, rows, policies, elections, facts] = await Promise.all([
    getStandingOrThrow(actor, worker.id),
    db().position.findMany({ where: { countyId: worker.countyId }, orderBy: { rank: 'asc' } }),
    listPolicies(db(), worker.countyId),
    listElectionDates(db(), worker.countyId),
    listFacts(db(), worker.countyId, [worker.id]),
  ])
  const nameOf = (row: (typeof rows)[number]) => (locale === 'es' ? row.nameEs : row.nameEn)
  const position = rows.find((row) => row.key === worker.wantsPositionKey)
  const certificate = standing.certificates.find((c) => c.certificateKey === position?.certificateKey) ?? null
  const policy = position && policies.get(position.certificateKey)
  const day = standing.nextElection?.heldOn ?? standing.today
  const ruleSet = policy && ruleSetOn(policy, day)
  const book = openBook(facts.get(worker.id) ?? [])
  const steps: PathStep[] =
    policy && ruleSet
      ? leavesOf(
          explain(ruleSet.requirement, day, (rule) => evidenceFor(rule, book, elections, policy)),
          '',
          null,
        ).flatMap(({ leaf, path, choice }) => {
          if (leaf.kind !== 'evidence') return []
          const item = certificate?.todo.find((t) => t.path === path)
          return [
            {
              kind: leaf.rule.fact,
              topic: leaf.rule.topic,
              label: leaf.rule.label?.[locale] ?? leaf.rule.topic,
              done: leaf.holds,
              reason: leaf.reason,
              doneOn: leaf.fact?.on ?? null,
              until: leaf.until,
              doFrom: item?.doFrom ?? null,
              possible: leaf.holds || (item?.possible ?? true),
              choice,
            },
          ]
        })
      : []
  return {
    standing,
    lessons: position ? await lessonsOfPosition(db(), worker.countyId, position.key) : [],
    positions: rows.map((row) => ({ key: row.key, name: nameOf(row) })),
    wanted: position ? { key: position.key, name: nameOf(position), certificate } : null,
    offersShift: worker.offersShift,
    steps,
    next: steps.find((step) => !step.done && step.possible) ?? null,
    certificates: standing.certificates.map((c) => {
      const own = rows.find((row) => row.certificateKey === c.certificateKey)
      return { ...c, name: own ? nameOf(own) : c.certificateKey }
    }),
  }
}
