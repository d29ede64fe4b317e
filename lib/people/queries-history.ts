import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { listMerged } from '@/lib/certification/queries'
import { db } from '@/lib/db/client'
import { civilDateAt } from '@/lib/kernel/dates'
import { partIn } from '@/lib/kernel/day-parts'
import { type PayRates, payRatesOf } from './pay'
import { type ServiceRules, serviceRulesOf } from './service-rules'

/** One thing that happened to a person, on a civil date of the county. */
export type HistoryEntry = { id: string; on: string } & (
  | {
      kind: 'fact'
      fact: string
      topic: string
      scoreFraction: number | null
      equipmentProfile: string | null
      takenBack: boolean
    }
  | {
      kind: 'attempt'
      what: string
      key: string
      scoreFraction: number | null
      passed: boolean | null
      finished: boolean
    }
  | { kind: 'seat'; election: string; position: string; place: string; shift: string; published: boolean }
  | { kind: 'class'; topic: string; cancelled: boolean; signedIn: boolean }
  | { kind: 'call'; outcome: string; note: string; by: string }
  | { kind: 'note'; text: string; by: string }
)

export interface ExclusionRow {
  id: string
  kind: string
  place: string | null
  firstOn: string
  lastOn: string | null
  note: string
  takenBackOn: string | null
}

/** Two people who are to serve in one crew, or not in one, as seen from one of them. */
export interface PairRow {
  id: string
  kind: 'together' | 'apart'
  other: { id: string; name: string; countyRef: string; active: boolean }
  note: string
  takenBackOn: string | null
}

export interface PayRow {
  id: string
  election: string
  positionKey: string
  servedOn: string
  minutes: number
  amountCents: number
  note: string
  takenBack: boolean
}

export interface PersonHistory {
  /** Newest first. */
  entries: HistoryEntry[]
  /** Absent for those who may not read rosters. */
  exclusions?: ExclusionRow[]
  pairs?: PairRow[]
  pay?: PayRow[]
  rules: ServiceRules
  rates: PayRates
}

/** Everything that happened to a person, newest first. Calls, notes, exclusions, pairs, pay and seats only for those who may
 *  read rosters. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getHistory(actor: Actor, countyId: string, workerId: string): Promise<PersonHistory> {
  assertCan(actor, 'readPeople', countyId)
  // What was recorded under a second record of the same person is theirs too.
  const merged = [...(await listMerged(db(), countyId))].flatMap(([id, kept]) =>
    kept === workerId ? [id] : [],
  )
  const where = { pollWorkerId: { in: [workerId, ...merged] }, countyId }
  const county = await db().county.findUniqueOrThrow({ where: { id: countyId } })
  const onOf = (at: Date) => civilDateAt(at, county.timeZone)
  const [facts, attempts, bookings] = await Promise.all([
    db().fact.findMany({ where }),
    db().attempt.findMany({
      where,
      select: {
        id: true,
        kind: true,
        key: true,
        startedAt: true,
        finishedAt: true,
        scoreFraction: true,
        passed: true,
      },
    }),
    db().classBooking.findMany({
      where,
      select: {
        id: true,
        cancelledAt: true,
        signedInAt: true,
        trainingClass: { select: { topic: true, startsAt: true } },
      },
    }),
  ])
  const revoked = new Set(facts.map((fact) => fact.revokesFactId))
  const entries: HistoryEntry[] = [
    ...facts.map((fact) => ({
      id: fact.id,
      on: fact.happenedOn,
      kind: 'fact' as const,
      fact: fact.kind,
      topic: fact.topic,
      scoreFraction: fact.scoreFraction,
      equipmentProfile: fact.equipmentProfile,
      takenBack: revoked.has(fact.id),
    })),
    ...attempts.map((a) => ({
      id: a.id,
      on: onOf(a.finishedAt ?? a.startedAt),
      kind: 'attempt' as const,
      what: a.kind,
      key: a.key,
      scoreFraction: a.scoreFraction,
      passed: a.passed,
      finished: a.finishedAt !== null,
    })),
    ...bookings.map((b) => ({
      id: b.id,
      on: onOf(b.trainingClass.startsAt),
      kind: 'class' as const,
      topic: b.trainingClass.topic,
      cancelled: b.cancelledAt !== null,
      signedIn: b.signedInAt !== null,
    })),
  ]
  const office = can(actor, 'readRoster', countyId) ? await officeHistory(where, onOf) : null
  if (office) entries.push(...office.entries)
  entries.sort((a, b) => (a.on < b.on ? 1 : a.on > b.on ? -1 : a.id < b.id ? 1 : -1))
  return {
    entries,
    ...(office ? { exclusions: office.exclusions, pairs: office.pairs, pay: office.pay } : {}),
    rules: serviceRulesOf(county.settings),
    rates: payRatesOf(county.settings),
  }
}

async function officeHistory(
  where: { pollWorkerId: { in: string[] }; countyId: string },
  onOf: (at: Date) => string,
) {
  const [seatings, calls, notes, exclusions, pairs, pay] = await Promise.all([
    db().seating.findMany({
      where,
      select: {
        id: true,
        morningOn: true,
        afternoonOn: true,
        roster: { select: { version: true, publishedAt: true, electionId: true } },
        seat: {
          select: {
            servesOn: true,
            shift: true,
            position: { select: { nameEn: true } },
            pollingPlace: { select: { name: true } },
            election: { select: { name: true } },
          },
        },
      },
    }),
    db().contact.findMany({ where }),
    db().personNote.findMany({ where }),
    db().exclusion.findMany({ where, orderBy: { recordedAt: 'desc' } }),
    listPairs(where, onOf),
    db().payEntry.findMany({ where, include: { election: true }, orderBy: { servedOn: 'desc' } }),
  ])
  const versions = await db().roster.groupBy({
    by: ['electionId'],
    where: { electionId: { in: seatings.map((s) => s.roster.electionId) } },
    _max: { version: true },
  })
  const newest = new Map(versions.map((row) => [row.electionId, row._max.version]))
  const seated = seatings.filter(({ roster }) => roster.version === newest.get(roster.electionId))
  const accounts = [...calls, ...notes].map((row) => row.accountId)
  const places = exclusions.flatMap((e) => e.pollingPlaceId ?? [])
  const [writers, placeRows] = await Promise.all([
    db().account.findMany({ where: { id: { in: accounts } }, select: { id: true, name: true } }),
    db().pollingPlace.findMany({ where: { id: { in: places } }, select: { id: true, name: true } }),
  ])
  const by = new Map(writers.map((account) => [account.id, account.name]))
  const place = new Map(placeRows.map((row) => [row.id, row.name]))
  const entries: HistoryEntry[] = [
    ...seated.map(({ id, seat, roster, ...halves }) => ({
      id,
      on: seat.servesOn,
      kind: 'seat' as const,
      election: seat.election.name,
      position: seat.position.nameEn,
      place: seat.pollingPlace.name,
      shift: partIn(halves),
      published: roster.publishedAt !== null,
    })),
    ...calls.map((call) => ({
      id: call.id,
      on: onOf(call.at),
      kind: 'call' as const,
      outcome: call.outcome,
      note: call.note,
      by: by.get(call.accountId) ?? 'somebody',
    })),
    ...notes.map((note) => ({
      id: note.id,
      on: onOf(note.at),
      kind: 'note' as const,
      text: note.text,
      by: by.get(note.accountId) ?? 'somebody',
    })),
  ]
  return {
    entries,
    exclusions: exclusions.map((e) => ({
      id: e.id,
      kind: e.kind,
      place: e.pollingPlaceId ? (place.get(e.pollingPlaceId) ?? 'a place') : null,
      firstOn: e.firstOn,
      lastOn: e.lastOn,
      note: e.note,
      takenBackOn: e.takenBackAt ? onOf(e.takenBackAt) : null,
    })),
    pairs,
    pay: pay.map((p) => ({
      id: p.id,
      election: p.election.name,
      positionKey: p.positionKey,
      servedOn: p.servedOn,
      minutes: p.minutes,
      amountCents: p.amountCents,
      note: p.note,
      takenBack: p.takenBackAt !== null,
    })),
  }
}

async function listPairs(
  { pollWorkerId: own, countyId }: { pollWorkerId: { in: string[] }; countyId: string },
  onOf: (at: Date) => string,
): Promise<PairRow[]> {
  const name = { select: { id: true, givenName: true, familyName: true, countyRef: true, active: true } }
  const rows = await db().personPair.findMany({
    where: { countyId, OR: [{ pollWorkerId: own }, { otherId: own }] },
    include: { pollWorker: name, other: name },
    orderBy: { recordedAt: 'desc' },
  })
  return rows.map((row) => {
    const { givenName, familyName, ...other } = own.in.includes(row.pollWorkerId) ? row.other : row.pollWorker
    return {
      id: row.id,
      kind: row.kind,
      other: { ...other, name: `${givenName} ${familyName}` },
      note: row.note,
      takenBackOn: row.takenBackAt ? onOf(row.takenBackAt) : null,
    }
  })
}

/** Whom the county lets serve and what it pays. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getServiceSettings(
  actor: Actor,
  countyId: string,
): Promise<{ rules: ServiceRules; rates: PayRates; active: number; withoutHomePrecinct: number }> {
  assertCan(actor, 'readPeople', countyId)
  const [{ settings }, active, withoutHomePrecinct] = await Promise.all([
    db().county.findUniqueOrThrow({ where: { id: countyId } }),
    db().pollWorker.count({ where: { countyId, active: true } }),
    db().pollWorker.count({ where: { countyId, active: true, homePrecinct: null } }),
  ])
  return { rules: serviceRulesOf(settings), rates: payRatesOf(settings), active, withoutHomePrecinct }
}
