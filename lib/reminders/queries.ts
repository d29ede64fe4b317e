import type { Actor } from '@/lib/auth/actor'
import { assertCan, can, type Permission } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { type QuietHours, quietHoursOf } from '@/lib/notices/core/quiet-hours'
import { NO_SERVER } from '@/lib/notices/send'
import { officeValues } from '@/lib/offers/facts'
import { reachOf } from '@/lib/people/reach'
import type { OutboxMessage, Reminder } from '@/prisma/client/client'
import { countIn, type TimeBin, timeBins } from './core/time-bins'
import { type Lapse, lapsesByWorker, listLapses, onceKeyOf, REMINDED } from './facts'

const UUID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i
const MOST_BINS = 12

async function groundOf(actor: Actor, countyId: string, permission: Permission) {
  assertCan(actor, permission, countyId)
  const county = await db().county.findUnique({ where: { id: countyId } })
  if (!county) throw new AppError('NOT_FOUND', { userMessage: 'There is no such county.' })
  const today = civilDateAt(systemClock.now(), county.timeZone)
  const election = await db().election.findFirst({
    where: { countyId, heldOn: { gte: today } },
    orderBy: { heldOn: 'asc' },
  })
  return {
    county,
    today,
    election: election && { id: election.id, name: election.name, heldOn: election.heldOn as CivilDate },
  }
}

export interface LapseRow extends Lapse {
  name: string
  countyRef: string
  certificateName: string
  /** Where the person sits in the newest roster of the election. */
  placeId: string | null
  /** They were written to about it. */
  written: boolean
}

export interface LapsesView {
  county: { id: string; name: string }
  today: CivilDate
  election: { id: string; name: string; heldOn: CivilDate } | null
  rows: LapseRow[]
  bins: TimeBin[]
  byRole: { key: string; name: string; holdToday: number; lapsing: number; counts: number[] }[]
  /** Places with somebody who lapses; without a place last. */
  byPlace: { id: string | null; name: string; precincts: string[]; lapsing: number; people: number }[]
}

/** Who holds a certificate today and no longer on the next election day: by role, by place and precincts, over time.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export async function getLapses(actor: Actor, countyId: string): Promise<LapsesView> {
  const { county, today, election } = await groundOf(actor, countyId, 'readRoster')
  const base = { county: { id: county.id, name: county.name }, today, election }
  if (!election) return { ...base, rows: [], bins: [], byRole: [], byPlace: [] }
  const [lapses, positions, holding, roster] = await Promise.all([
    listLapses(db(), countyId, today, election.heldOn),
    db().position.findMany({ where: { countyId }, orderBy: { rank: 'asc' } }),
    db().$queryRaw<{ key: string; people: number }[]>`
      SELECT c."certificateKey" AS key, count(*)::int AS people
      FROM "CertificateSpan" c JOIN "PollWorker" w ON w.id = c."pollWorkerId" AND w.active
      WHERE c."countyId" = ${countyId} AND c."validFrom" <= ${today} AND (c."validUntil" IS NULL OR c."validUntil" > ${today})
      GROUP BY 1`,
    db().roster.findFirst({ where: { electionId: election.id }, orderBy: { version: 'desc' } }),
  ])
  const ids = [...new Set(lapses.map((lapse) => lapse.workerId))]
  const [people, seatings, matters] = await Promise.all([
    db().pollWorker.findMany({
      where: { id: { in: ids } },
      select: { id: true, givenName: true, familyName: true, countyRef: true },
    }),
    roster
      ? db().seating.findMany({
          where: { rosterId: roster.id, pollWorkerId: { in: ids } },
          select: {
            pollWorkerId: true,
            seat: {
              select: {
                pollingPlace: {
                  select: { id: true, code: true, name: true, precincts: { select: { code: true } } },
                },
              },
            },
          },
        })
      : [],
    db().reminderMatter.findMany({
      where: { onceKey: { in: lapses.map(onceKeyOf) } },
      select: { onceKey: true },
    }),
  ])
  const personOf = new Map(people.map((p) => [p.id, p]))
  const placeOf = new Map(seatings.map((s) => [s.pollWorkerId, s.seat.pollingPlace]))
  const written = new Set(matters.map((m) => m.onceKey))
  const nameOf = (key: string) => positions.find((p) => p.certificateKey === key)?.nameEn ?? key
  const rows = lapses.map((lapse): LapseRow => {
    const person = personOf.get(lapse.workerId)!
    return {
      ...lapse,
      name: `${person.familyName}, ${person.givenName}`,
      countyRef: person.countyRef,
      certificateName: nameOf(lapse.certificateKey),
      placeId: placeOf.get(lapse.workerId)?.id ?? null,
      written: written.has(onceKeyOf(lapse)),
    }
  })
  const bins = timeBins(today, election.heldOn, MOST_BINS)
  const keys = [
    ...new Set([...positions.map((p) => p.certificateKey), ...lapses.map((l) => l.certificateKey)]),
  ]
  const places = new Map([...placeOf.values()].map((place) => [place.id, place]))
  const rowsAt = new Map<string | null, LapseRow[]>()
  for (const row of rows) {
    const own = rowsAt.get(row.placeId)
    if (own) own.push(row)
    else rowsAt.set(row.placeId, [row])
  }
  const byPlace = [...rowsAt].map(([id, own]) => {
    const place = id === null ? undefined : places.get(id)
    return {
      id,
      name: place ? `${place.code} ${place.name}` : 'No seat yet',
      precincts: place?.precincts.map((p) => p.code).sort() ?? [],
      lapsing: own.length,
      people: new Set(own.map((row) => row.workerId)).size,
    }
  })
  byPlace.sort(
    (a, b) =>
      Number(a.id === null) - Number(b.id === null) || b.people - a.people || (a.name < b.name ? -1 : 1),
  )
  return {
    ...base,
    rows,
    bins,
    byRole: keys.map((key) => {
      const dates = lapses.filter((l) => l.certificateKey === key).map((l) => l.lapsesOn)
      return {
        key,
        name: nameOf(key),
        holdToday: holding.find((h) => h.key === key)?.people ?? 0,
        lapsing: dates.length,
        counts: countIn(bins, dates),
      }
    }),
    byPlace,
  }
}

export interface BatchSummary {
  id: string
  createdAt: Date
  by: string
  finishedAt: Date | null
  mail: number
  letters: number
  unreachable: number
  skipped: number
}

export interface RemindersView {
  county: { id: string; name: string; timeZone: string }
  today: CivilDate
  election: { id: string; name: string; heldOn: CivilDate } | null
  /** What a batch would do now, in people. */
  plan: { mail: number; letter: number; none: number; before: number }
  quietHours: QuietHours
  /** What letters and mail say to call; '' where the county has not entered it. */
  officePhone: string
  mayChangeQuietHours: boolean
  batches: BatchSummary[]
}

/** What a batch would do, and the batches so far. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getReminders(actor: Actor, countyId: string): Promise<RemindersView> {
  const { county, today, election } = await groundOf(actor, countyId, 'writeReminders')
  const plan = { mail: 0, letter: 0, none: 0, before: 0 }
  if (election) {
    const lapses = await listLapses(db(), countyId, today, election.heldOn)
    const byWorker = lapsesByWorker(lapses)
    const [workers, matters] = await Promise.all([
      db().pollWorker.findMany({ where: { id: { in: [...byWorker.keys()] } }, select: REMINDED }),
      db().reminderMatter.findMany({
        where: { onceKey: { in: lapses.map(onceKeyOf) } },
        select: { onceKey: true },
      }),
    ])
    const written = new Set(matters.map((m) => m.onceKey))
    for (const worker of workers) {
      if (byWorker.get(worker.id)!.every((lapse) => written.has(onceKeyOf(lapse)))) plan.before++
      else if (reachOf(worker).address) plan.mail++
      else if (worker.homeAddress) plan.letter++
      else plan.none++
    }
  }
  const batches = await db().reminderBatch.findMany({
    where: { countyId },
    orderBy: { createdAt: 'desc' },
    take: 50,
    include: { reminders: { select: { channel: true } } },
  })
  const accounts = await db().account.findMany({
    where: { id: { in: batches.map((b) => b.requestedBy) } },
    select: { id: true, name: true },
  })
  return {
    county: { id: county.id, name: county.name, timeZone: county.timeZone },
    today,
    election,
    plan,
    quietHours: quietHoursOf(county.settings),
    officePhone: officeValues(county).phone,
    mayChangeQuietHours: can(actor, 'changeCounty', countyId),
    batches: batches.map((b) => {
      const by = (channel: string) => b.reminders.filter((r) => r.channel === channel).length
      return {
        id: b.id,
        createdAt: b.createdAt,
        by: accounts.find((a) => a.id === b.requestedBy)?.name ?? 'somebody',
        finishedAt: b.finishedAt,
        mail: by('mail'),
        letters: by('letter'),
        unreachable: by('none'),
        skipped: b.skipped,
      }
    }),
  }
}

export type ReminderState =
  | 'waiting'
  | 'sent'
  | 'refused'
  /** No mail server was set. */
  | 'unsent'
  | 'uncertain'
  | 'letter'
  | 'returned'
  | 'unreachable'

function stateOf(
  reminder: Pick<Reminder, 'returnedAt' | 'channel'>,
  message?: Pick<OutboxMessage, 'sentAt' | 'failedAt' | 'uncertain' | 'lastError'>,
): ReminderState {
  if (reminder.returnedAt) return 'returned'
  if (reminder.channel === 'none') return 'unreachable'
  if (reminder.channel === 'letter') return 'letter'
  if (message?.sentAt) return 'sent'
  if (!message?.failedAt) return 'waiting'
  if (message.uncertain) return 'uncertain'
  return message.lastError === NO_SERVER ? 'unsent' : 'refused'
}

/** Paper is the way to this person: by choice, or because mail was refused, never left or may not have arrived. */
export const getsLetter = ({ state, hasAddress }: ReminderRow): boolean =>
  hasAddress && ['letter', 'refused', 'unsent', 'uncertain'].includes(state)

export interface ReminderRow {
  id: string
  workerId: string
  name: string
  countyRef: string
  phone: string | null
  /** A letter could be posted. */
  hasAddress: boolean
  state: ReminderState
  /** What the mail server said, or why nobody knows. */
  why: string | null
  calls: { outcome: string; note: string; at: Date; by: string }[]
  /** Nobody has reached this person yet. */
  toReach: boolean
}

export interface BatchView extends BatchSummary {
  county: { id: string; name: string; timeZone: string }
  /** Those still to be reached first. */
  rows: ReminderRow[]
  /** Letters that its PDF holds (`getsLetter`). */
  printable: number
}

/** A batch with everybody in it: what came of the mail, letters that came back, calls. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getBatchOrThrow(actor: Actor, countyId: string, batchId: string): Promise<BatchView> {
  const { county } = await groundOf(actor, countyId, 'writeReminders')
  const missing = new AppError('NOT_FOUND', { userMessage: 'There is no such batch in this county.' })
  if (!UUID.test(batchId)) throw missing
  const batch = await db().reminderBatch.findFirst({
    where: { id: batchId, countyId },
    include: {
      reminders: {
        include: {
          pollWorker: {
            select: {
              givenName: true,
              familyName: true,
              countyRef: true,
              phone: true,
              homeAddress: true,
              contacts: { orderBy: { at: 'desc' } },
            },
          },
        },
      },
    },
  })
  if (!batch) throw missing
  const [messages, accounts] = await Promise.all([
    db().outboxMessage.findMany({
      where: { id: { in: batch.reminders.flatMap((r) => r.outboxMessageId ?? []) } },
      select: { id: true, sentAt: true, failedAt: true, uncertain: true, lastError: true },
    }),
    db().account.findMany({
      where: {
        id: {
          in: [
            batch.requestedBy,
            ...batch.reminders.flatMap((r) => r.pollWorker.contacts.map((c) => c.accountId)),
          ],
        },
      },
      select: { id: true, name: true },
    }),
  ])
  const messageOf = new Map(messages.map((m) => [m.id, m]))
  const accountName = (id: string) => accounts.find((a) => a.id === id)?.name ?? 'somebody'
  const rows = batch.reminders.map((r): ReminderRow => {
    const message = r.outboxMessageId ? messageOf.get(r.outboxMessageId) : undefined
    const state = stateOf(r, message)
    const calls = r.pollWorker.contacts.filter((c) => c.at >= r.createdAt)
    return {
      id: r.id,
      workerId: r.pollWorkerId,
      name: `${r.pollWorker.familyName}, ${r.pollWorker.givenName}`,
      countyRef: r.pollWorker.countyRef,
      phone: r.pollWorker.phone,
      hasAddress: Boolean(r.pollWorker.homeAddress),
      state,
      why: state === 'refused' || state === 'uncertain' ? (message?.lastError ?? null) : null,
      calls: calls.map((c) => ({ outcome: c.outcome, note: c.note, at: c.at, by: accountName(c.accountId) })),
      toReach:
        ['refused', 'unsent', 'uncertain', 'returned', 'unreachable'].includes(state) &&
        !calls.some((c) => c.outcome === 'reached'),
    }
  })
  rows.sort((a, b) => Number(b.toReach) - Number(a.toReach) || a.name.localeCompare(b.name))
  const by = (channel: string) => batch.reminders.filter((r) => r.channel === channel).length
  return {
    id: batch.id,
    createdAt: batch.createdAt,
    by: accountName(batch.requestedBy),
    finishedAt: batch.finishedAt,
    mail: by('mail'),
    letters: by('letter'),
    unreachable: by('none'),
    skipped: batch.skipped,
    county: { id: county.id, name: county.name, timeZone: county.timeZone },
    rows,
    printable: rows.filter(getsLetter).length,
  }
}
