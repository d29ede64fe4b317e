import type { Actor } from '@/lib/auth/actor'
import { assertCan, countiesWith } from '@/lib/auth/permissions'
import { todo } from '@/lib/certification/core/todo'
import { listElectionDates, listFacts, listPolicies } from '@/lib/certification/queries'
import type { EvidenceRule, Fact, Policy, Requirement } from '@/lib/certification/schema'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'

/** A task that a trainer watches somebody do by hand, as the county's rules name it. */
export interface HandTask {
  key: string
  label: { en: string; es: string }
  /** Certificates that ask for it. */
  certificateKeys: string[]
}

function* checkOffRules(requirement: Requirement): Generator<EvidenceRule> {
  if (requirement.kind === 'evidence') {
    if (requirement.fact === 'checkOff') yield requirement
  } else for (const part of requirement.of) yield* checkOffRules(part)
}

/** The hand tasks of a county, each once, in the order of its rules. */
export function handTasksOf(policies: ReadonlyMap<string, Policy>): HandTask[] {
  const tasks = new Map<string, HandTask>()
  for (const [certificateKey, policy] of policies)
    for (const ruleSet of policy.ruleSets)
      for (const rule of checkOffRules(ruleSet.requirement)) {
        const task = tasks.get(rule.topic) ?? {
          key: rule.topic,
          label: rule.label ?? { en: rule.topic, es: rule.topic },
          certificateKeys: [],
        }
        if (!task.certificateKeys.includes(certificateKey)) task.certificateKeys.push(certificateKey)
        tasks.set(rule.topic, task)
      }
  return [...tasks.values()]
}

export async function listTrainingCounties(actor: Actor): Promise<{ id: string; name: string }[]> {
  const where = countiesWith(actor, 'recordCheckOff')
  return db().county.findMany({
    where: where === 'all' ? {} : { id: { in: where } },
    select: { id: true, name: true },
    orderBy: { name: 'asc' },
  })
}

export interface TraineeRow {
  id: string
  name: string
  countyRef: string
  wants: { en: string; es: string } | null
  /** Hand tasks that are still to be seen for the position wanted. */
  missing: HandTask[]
  /** Everything else that is still to be done first or beside it. */
  otherMissing: number
}

const PAGE_SIZE = 30

/** A page of trainees by name. `waiting` keeps those for whom only a check-off is missing or open. */
export async function listTrainees(
  actor: Actor,
  countyId: string,
  ask: { search: string; page: number },
): Promise<{ county: { id: string; name: string }; rows: TraineeRow[]; more: boolean; tasks: HandTask[] }> {
  assertCan(actor, 'recordCheckOff', countyId)
  const county = await db().county.findUnique({ where: { id: countyId } })
  if (!county) throw new AppError('NOT_FOUND', { userMessage: 'There is no such county.' })
  const words = ask.search.trim().split(/\s+/).filter(Boolean).slice(0, 4)
  const people = await db().pollWorker.findMany({
    where: {
      countyId,
      active: true,
      AND: words.map((word) => ({
        OR: [
          { familyName: { startsWith: word, mode: 'insensitive' as const } },
          { givenName: { startsWith: word, mode: 'insensitive' as const } },
          { countyRef: { equals: word, mode: 'insensitive' as const } },
        ],
      })),
    },
    orderBy: [{ familyName: 'asc' }, { givenName: 'asc' }, { id: 'asc' }],
    skip: ask.page * PAGE_SIZE,
    take: PAGE_SIZE + 1,
  })
  const shown = people.slice(0, PAGE_SIZE)
  const today = civilDateAt(systemClock.now(), county.timeZone)
  const [policies, elections, facts, positions, next] = await Promise.all([
    listPolicies(db(), countyId),
    listElectionDates(db(), countyId),
    listFacts(
      db(),
      countyId,
      shown.map((person) => person.id),
    ),
    db().position.findMany({ where: { countyId } }),
    db().election.findFirst({ where: { countyId, heldOn: { gte: today } }, orderBy: { heldOn: 'asc' } }),
  ])
  const tasks = handTasksOf(policies)
  const on = (next?.heldOn ?? today) as CivilDate
  const rows = shown.map((person): TraineeRow => {
    const position = positions.find((p) => p.key === person.wantsPositionKey)
    const policy = position && policies.get(position.certificateKey)
    const items = policy ? todo(policy, facts.get(person.id) ?? [], elections, on) : []
    const handTopics = new Set(items.filter((i) => i.rule.fact === 'checkOff').map((i) => i.rule.topic))
    return {
      id: person.id,
      name: `${person.familyName}, ${person.givenName}`,
      countyRef: person.countyRef,
      wants: position ? { en: position.nameEn, es: position.nameEs } : null,
      missing: tasks.filter((task) => handTopics.has(task.key)),
      otherMissing: items.filter((i) => i.rule.fact !== 'checkOff').length,
    }
  })
  return { county: { id: county.id, name: county.name }, rows, more: people.length > PAGE_SIZE, tasks }
}

export interface TraineeDetail {
  id: string
  name: string
  countyId: string
  countyName: string
  today: CivilDate
  equipmentProfiles: string[]
  countyProfile: string
  /** Shown only with the permission for it. */
  accommodations: string | null
  tasks: (HandTask & { missing: boolean })[]
  checkOffs: (Fact & { taken: boolean })[]
}

/** One trainee with the hand tasks of the county: seen or not, where, when. @throws AppError NOT_FOUND */
export async function getTraineeOrThrow(
  actor: Actor,
  countyId: string,
  workerId: string,
): Promise<TraineeDetail> {
  assertCan(actor, 'recordCheckOff', countyId)
  const worker = await db().pollWorker.findFirst({
    where: { id: workerId, countyId },
    include: { county: true },
  })
  if (!worker) throw new AppError('NOT_FOUND', { userMessage: 'There is no such person.' })
  const today = civilDateAt(systemClock.now(), worker.county.timeZone)
  const [policies, elections, facts, places, next] = await Promise.all([
    listPolicies(db(), countyId),
    listElectionDates(db(), countyId),
    listFacts(db(), countyId, [workerId]),
    db().pollingPlace.findMany({
      where: { countyId },
      select: { equipmentProfile: true },
      distinct: ['equipmentProfile'],
    }),
    db().election.findFirst({ where: { countyId, heldOn: { gte: today } }, orderBy: { heldOn: 'asc' } }),
  ])
  const own = facts.get(workerId) ?? []
  const on = (next?.heldOn ?? today) as CivilDate
  const missing = new Set(
    [...policies.values()].flatMap((policy) =>
      todo(policy, own, elections, on)
        .filter((item) => item.rule.fact === 'checkOff')
        .map((item) => item.rule.topic),
    ),
  )
  const taken = new Set(own.filter((fact) => fact.revokes).map((fact) => fact.revokes))
  return {
    id: worker.id,
    name: `${worker.givenName} ${worker.familyName}`,
    countyId,
    countyName: worker.county.name,
    today,
    equipmentProfiles: places.map((place) => place.equipmentProfile).sort(),
    countyProfile: worker.county.equipmentProfile,
    accommodations: worker.accommodations,
    tasks: handTasksOf(policies).map((task) => ({ ...task, missing: missing.has(task.key) })),
    checkOffs: own
      .filter((fact) => fact.kind === 'checkOff')
      .map((fact) => ({ ...fact, taken: taken.has(fact.id) }))
      .reverse(),
  }
}
