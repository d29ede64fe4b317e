import type { Actor } from '@/lib/auth/actor'
import { assertCan, can, countiesWith } from '@/lib/auth/permissions'
import { todo } from '@/lib/certification/core/todo'
import { listElectionDates, listFacts, listMerged, listPolicies } from '@/lib/certification/queries'
import type { ElectionDate, Fact, Policy } from '@/lib/certification/schema'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { leavesOf } from './core/topics'

/** A task that a trainer watches somebody do by hand, as the county's rules name it. */
export interface HandTask {
  key: string
  label: { en: string; es: string }
  /** Certificates that ask for it. */
  certificateKeys: string[]
}

/** The hand tasks of a county, each once, in the order of its rules. */
export function handTasksOf(policies: ReadonlyMap<string, Policy>): HandTask[] {
  const tasks = new Map<string, HandTask>()
  for (const [certificateKey, policy] of policies)
    for (const ruleSet of policy.ruleSets)
      for (const rule of leavesOf(ruleSet.requirement)) {
        if (rule.fact !== 'checkOff') continue
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

/** A page of trainees by name, or all of them for a file. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listTrainees(
  actor: Actor,
  countyId: string,
  ask: { search: string; page: number | 'all' },
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
    ...(ask.page === 'all' ? {} : { skip: ask.page * PAGE_SIZE, take: PAGE_SIZE + 1 }),
  })
  const shown = ask.page === 'all' ? people : people.slice(0, PAGE_SIZE)
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
  return { county: { id: county.id, name: county.name }, rows, more: people.length > shown.length, tasks }
}

/** A check-off as it was recorded. */
export interface CheckOffRecord {
  id: string
  task: string
  on: CivilDate
  result: 'done' | 'repeat'
  equipmentProfile: string | null
  /** The trainer who watched. */
  by: string | null
  /** It was taken back later and counts no more. */
  taken: boolean
}

/** A hand task of one person: still to be shown, and what was seen last. */
export interface HandTaskState extends HandTask {
  missing: boolean
  last: CheckOffRecord | null
}

export interface TraineeTasks {
  tasks: HandTaskState[]
  /** Newest first. */
  records: CheckOffRecord[]
}

/** How people stand in the hand tasks of their county on the next election day. */
export async function handTasksOfPeople(
  countyId: string,
  workerIds: string[],
  today: CivilDate,
): Promise<Map<string, TraineeTasks>> {
  const merged = await listMerged(db(), countyId)
  const [policies, elections, facts, rows, next] = await Promise.all([
    listPolicies(db(), countyId),
    listElectionDates(db(), countyId),
    listFacts(db(), countyId, workerIds),
    db().fact.findMany({
      where: {
        pollWorkerId: {
          in: [...workerIds, ...[...merged].flatMap(([id, kept]) => (workerIds.includes(kept) ? [id] : []))],
        },
        kind: { in: ['checkOff', 'checkOffToRepeat'] },
      },
      orderBy: [{ happenedOn: 'desc' }, { recordedAt: 'desc' }, { id: 'desc' }],
    }),
    db().election.findFirst({ where: { countyId, heldOn: { gte: today } }, orderBy: { heldOn: 'asc' } }),
  ])
  const recorders = await db().account.findMany({
    where: { id: { in: [...new Set(rows.flatMap((row) => row.recordedBy ?? []))] } },
    select: { id: true, name: true },
  })
  const nameOf = new Map(recorders.map((account) => [account.id, account.name]))
  const on = (next?.heldOn ?? today) as CivilDate
  const tasks = handTasksOf(policies)
  return new Map(
    workerIds.map((workerId) => {
      const own = facts.get(workerId) ?? []
      const missing = missingTasks(policies, own, elections, on)
      const taken = new Set(own.flatMap((fact) => fact.revokes ?? []))
      const records = rows
        .filter((row) => (merged.get(row.pollWorkerId) ?? row.pollWorkerId) === workerId)
        .map(
          (row): CheckOffRecord => ({
            id: row.id,
            task: row.topic,
            on: row.happenedOn as CivilDate,
            result: row.kind === 'checkOff' ? 'done' : 'repeat',
            equipmentProfile: row.equipmentProfile,
            by: row.witnessedBy ?? (row.recordedBy && nameOf.get(row.recordedBy)) ?? null,
            taken: taken.has(row.id),
          }),
        )
      const states = tasks.map((task) => ({
        ...task,
        missing: missing.has(task.key),
        last: records.find((r) => r.task === task.key && !r.taken) ?? null,
      }))
      return [workerId, { tasks: states, records }]
    }),
  )
}

function missingTasks(
  policies: ReadonlyMap<string, Policy>,
  own: Fact[],
  elections: ElectionDate[],
  on: CivilDate,
): Set<string> {
  const topics = [...policies.values()].flatMap((policy) =>
    todo(policy, own, elections, on)
      .filter((item) => item.rule.fact === 'checkOff')
      .map((item) => item.rule.topic),
  )
  return new Set(topics)
}

/** The county's equipment profiles in use, its own first. */
export async function equipmentProfilesOf(county: {
  id: string
  equipmentProfile: string
}): Promise<string[]> {
  const places = await db().pollingPlace.findMany({
    where: { countyId: county.id },
    select: { equipmentProfile: true },
    distinct: ['equipmentProfile'],
  })
  const others = places.map((place) => place.equipmentProfile).sort()
  return [...new Set([county.equipmentProfile, ...others])]
}

export interface TraineeDetail extends TraineeTasks {
  id: string
  name: string
  countyId: string
  countyName: string
  today: CivilDate
  /** The county's own first. */
  equipmentProfiles: string[]
  /** Shown only with the permission for it. */
  accommodations: string | null
}

/** One trainee with the hand tasks of the county: seen or not, where, when, by whom. @throws AppError NOT_FOUND */
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
  const [tasks, equipmentProfiles] = await Promise.all([
    handTasksOfPeople(countyId, [workerId], today),
    equipmentProfilesOf(worker.county),
  ])
  return {
    id: worker.id,
    name: `${worker.givenName} ${worker.familyName}`,
    countyId,
    countyName: worker.county.name,
    today,
    equipmentProfiles,
    accommodations: can(actor, 'readAccommodations', countyId) ? worker.accommodations : null,
    ...tasks.get(workerId)!,
  }
}
