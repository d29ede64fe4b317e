/** The plans of lists about people who are known: where they served, what they were trained in, who names them. */
import { listMerged } from '@/lib/certification/queries'
import type { Tx } from '@/lib/db/client'
import { type CivilDate, isCivilDate } from '@/lib/kernel/dates'
import { writeNominations, writeService, writeTraining } from '@/lib/people/commands-import'
import type { Mapping } from './core/fields'
import {
  type NamedPerson,
  nominationKey,
  planNominations,
  planService,
  planTraining,
  serviceKey,
  trainingKey,
} from './core/service'
import { changeFinding, type ImportOf, type Part, positionNames, todayIn } from './queries-plan-ground'
import type { Table } from './table'

async function namedPeople(tx: Tx, countyId: string): Promise<NamedPerson[]> {
  const merged = await listMerged(tx, countyId)
  const rows = await tx.pollWorker.findMany({
    where: { countyId },
    select: { id: true, countyRef: true, givenName: true, familyName: true, birthYear: true },
  })
  return rows.map((row) => ({ ...row, countsAs: merged.get(row.id) ?? row.id }))
}

/** Facts of a kind, each with the record that is kept where records were merged. */
async function factsOnRecord(tx: Tx, countyId: string, kind: 'served' | 'earlierTraining') {
  const merged = await listMerged(tx, countyId)
  const facts = await tx.fact.findMany({
    where: { countyId, kind },
    select: { pollWorkerId: true, happenedOn: true, topic: true },
  })
  return facts.map((f) => ({
    personId: merged.get(f.pollWorkerId) ?? f.pollWorkerId,
    on: f.happenedOn,
    topic: f.topic,
  }))
}

/** Days on which people served, or will, at the elections that are kept here. */
async function electionDays(tx: Tx, countyId: string): Promise<CivilDate[]> {
  const rows = await tx.$queryRaw<{ on: CivilDate }[]>`
    SELECT "heldOn" AS on FROM "Election" WHERE "countyId" = ${countyId}
    UNION SELECT "servesOn" FROM "Seat" WHERE "countyId" = ${countyId} ORDER BY 1`
  return rows.map((row) => row.on)
}

export async function servicePart(tx: Tx, of: ImportOf, table: Table, mapping: Mapping): Promise<Part> {
  const { countyId } = of
  const known = await factsOnRecord(tx, countyId, 'served')
  const people = await namedPeople(tx, countyId)
  const positions = await positionNames(tx, countyId)
  const nameOf = new Map(people.map((p) => [p.countsAs, `${p.givenName} ${p.familyName}`]))
  const positionOf = new Map(positions.map((p) => [p.key, p.names[0]]))
  const plan = planService(table, mapping, {
    people,
    positions,
    today: await todayIn(tx, countyId),
    electionDays: await electionDays(tx, countyId),
    known: new Set(
      known.map(({ personId, on, topic }) => serviceKey({ personId, servedOn: on, positionKey: topic })),
    ),
  })
  const items = plan.items.map(({ row: _, ...item }) => item)
  return {
    create: plan.items.length,
    change: 0,
    same: plan.same,
    problems: plan.problems,
    duplicates: 0,
    findings: plan.items.map((i) =>
      changeFinding(
        { row: i.row, action: 'create', fields: [] },
        `${nameOf.get(i.personId)}: ${positionOf.get(i.positionKey) ?? i.positionKey}, ${i.servedOn}`,
      ),
    ),
    items,
    write: (db, by) => writeService(db, by, countyId, items),
  }
}

export async function trainingPart(tx: Tx, of: ImportOf, table: Table, mapping: Mapping): Promise<Part> {
  const { countyId, settings } = of
  const known = await factsOnRecord(tx, countyId, 'earlierTraining')
  const positions = await tx.position.findMany({ where: { countyId } })
  const plan = planTraining(table, mapping, {
    people: await namedPeople(tx, countyId),
    positions: await positionNames(tx, countyId),
    certificates: new Map(positions.map((p) => [p.key, p.certificateKey])),
    today: await todayIn(tx, countyId),
    saidBy: settings.saidBy || null,
    known: new Set(
      known.map(({ personId, on, topic }) => trainingKey({ personId, trainedOn: on, certificateKey: topic })),
    ),
  })
  const items = plan.items.map(({ row: _, ...item }) => item)
  return {
    create: plan.items.length,
    change: 0,
    same: plan.same,
    problems: plan.problems,
    duplicates: 0,
    findings: plan.items.map((i) =>
      changeFinding({ row: i.row, action: 'create', fields: [] }, `${i.certificateKey}, ${i.trainedOn}`),
    ),
    items,
    write: (db, by) => writeTraining(db, by, countyId, items),
  }
}

export async function nominationPart(tx: Tx, of: ImportOf, table: Table, mapping: Mapping): Promise<Part> {
  const { countyId, settings } = of
  const known = await tx.nomination.findMany({ where: { countyId } })
  const people = await namedPeople(tx, countyId)
  const positions = await positionNames(tx, countyId)
  const nameOf = new Map(people.map((p) => [p.countsAs, `${p.givenName} ${p.familyName}`]))
  const positionOf = new Map(positions.map((p) => [p.key, p.names[0]]))
  const plan = planNominations(table, mapping, {
    people,
    positions,
    today: await todayIn(tx, countyId),
    party: settings.party || null,
    listedOn: isCivilDate(settings.listedOn) ? settings.listedOn : null,
    known: new Map(known.map((n) => [nominationKey({ ...n, personId: n.pollWorkerId }), n.rank])),
  })
  const items = plan.items.map(({ row: _, ...item }) => item)
  return {
    create: plan.items.length - plan.changed,
    change: plan.changed,
    same: plan.same,
    problems: plan.problems,
    duplicates: 0,
    findings: plan.items.map((i) =>
      changeFinding(
        { row: i.row, action: 'create', fields: [] },
        `${nameOf.get(i.personId)}: ${positionOf.get(i.positionKey) ?? i.positionKey}, rank ${i.rank}`,
      ),
    ),
    items,
    write: (db) => writeNominations(db, countyId, items),
  }
}
