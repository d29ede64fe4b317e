import { recordIdsOf } from '@/lib/certification/queries'
import { db } from '@/lib/db/client'
import { partIn } from '@/lib/kernel/day-parts'
import {
  type PersonRecord,
  RECORD_PARTS,
  type RecordPartKey,
  type RecordRow,
  type RecordValue,
} from './parts'

/** Plain JSON: instants as ISO 8601 text, nothing undefined. */
const plain = (row: object): RecordRow => JSON.parse(JSON.stringify(row)) as Record<string, RecordValue>

/** Everything that is kept about one person, part by part: each thing as it is stored, without secrets (hashes of
 *  passwords and codes), without other people, without drafts. No authorisation: `exportRecord` asks first.
 *  Null: there is no such person. */
export async function readRecord(workerId: string, at: Date): Promise<PersonRecord | null> {
  const worker = await db().pollWorker.findUnique({
    where: { id: workerId },
    include: { account: { select: { id: true } }, county: { select: { name: true } } },
  })
  if (!worker) return null
  const accountId = worker.account?.id ?? null
  const { account: _account, county, ...person } = worker
  const own = await Promise.all([
    ownParts(worker.countyId, workerId),
    accountId ? accountParts(accountId) : {},
  ])
  const parts = Object.fromEntries(RECORD_PARTS.map((key) => [key, [] as RecordRow[]])) as Record<
    RecordPartKey,
    RecordRow[]
  >
  parts.person = [plain({ ...person, county: county.name })]
  for (const found of own)
    for (const [key, rows] of Object.entries(found)) parts[key as RecordPartKey] = rows.map(plain)
  const subjects = [`worker:${workerId}`, ...(accountId ? [`account:${accountId}`] : [])]
  const audit = await db().auditRecord.findMany({
    where: { subject: { in: subjects } },
    orderBy: [{ at: 'asc' }, { sequence: 'asc' }],
    select: { at: true, event: true, detail: true },
  })
  parts.audit = audit.map(plain)
  return { madeAt: at.toISOString(), workerId, parts }
}

type Parts = Partial<Record<RecordPartKey, object[]>>

/** What hangs on the person. */
async function ownParts(countyId: string, workerId: string): Promise<Parts> {
  const found = await Promise.all([
    certificateParts(await recordIdsOf(db(), countyId, workerId)),
    learningParts(workerId),
    electionParts(workerId),
    officeParts(workerId),
  ])
  return Object.assign({}, ...found) as Parts
}

/** What was done, and what followed from it. */
async function certificateParts(recordIds: string[]): Promise<Parts> {
  const where = { pollWorkerId: { in: recordIds } }
  const [certificates, spans, facts] = await Promise.all([
    db().certificate.findMany({
      where,
      orderBy: { createdAt: 'asc' },
      select: {
        serial: true,
        certificateKey: true,
        createdAt: true,
        revokedAt: true,
        revokedBecause: true,
        issues: {
          orderBy: { issuedAt: 'asc' },
          select: {
            holderName: true,
            validFrom: true,
            validUntil: true,
            issuedAt: true,
            withdrawnAt: true,
            credential: true,
          },
        },
      },
    }),
    db().certificateSpan.findMany({
      where,
      orderBy: { validFrom: 'asc' },
      select: { certificateKey: true, validFrom: true, validUntil: true },
    }),
    db().fact.findMany({
      where,
      orderBy: [{ happenedOn: 'asc' }, { recordedAt: 'asc' }],
      omit: { pollWorkerId: true, countyId: true, recordedBy: true, onceKey: true },
    }),
  ])
  return {
    certificates: certificates.flatMap(({ issues, ...certificate }) =>
      issues.map((issue) => ({ ...certificate, ...issue })),
    ),
    spans,
    facts,
  }
}

/** Lessons, quizzes, classes. */
async function learningParts(workerId: string): Promise<Parts> {
  const where = { pollWorkerId: workerId }
  const [attempts, bookings] = await Promise.all([
    db().attempt.findMany({
      where,
      orderBy: { startedAt: 'asc' },
      omit: { pollWorkerId: true, countyId: true, seed: true, definitionHash: true },
      include: {
        events: { orderBy: { sequence: 'asc' }, select: { at: true, event: true } },
        paperEntries: { select: { round: true, satOn: true, answers: true, enteredAt: true } },
        appeals: {
          select: { questionId: true, text: true, enteredAt: true, decision: true, decisionText: true },
        },
      },
    }),
    db().classBooking.findMany({
      where,
      orderBy: { bookedAt: 'asc' },
      select: {
        bookedAt: true,
        cancelledAt: true,
        signedInAt: true,
        trainingClass: { select: { topic: true, startsAt: true } },
      },
    }),
  ])
  return {
    attempts: attempts.map(({ paperEntries: _paper, appeals: _appeals, ...attempt }) => attempt),
    paperAnswers: attempts.flatMap((a) => a.paperEntries.map((entry) => ({ quiz: a.key, ...entry }))),
    appeals: attempts.flatMap((a) => a.appeals.map((appeal) => ({ quiz: a.key, ...appeal }))),
    classes: bookings.map(({ trainingClass, ...booking }) => ({ ...trainingClass, ...booking })),
  }
}

const SEAT = {
  select: {
    servesOn: true,
    shift: true,
    position: { select: { key: true } },
    pollingPlace: { select: { name: true, address: true } },
  },
} as const

const seatRow = (seat: {
  servesOn: string
  shift: string
  position: { key: string }
  pollingPlace: { name: string; address: string }
}) => ({
  servesOn: seat.servesOn,
  shift: seat.shift,
  position: seat.position.key,
  place: seat.pollingPlace.name,
  address: seat.pollingPlace.address,
})

/** Places offered and held, as published; and who named the person. */
async function electionParts(workerId: string): Promise<Parts> {
  const where = { pollWorkerId: workerId }
  const election = { select: { name: true } } as const
  const [offers, seatings, nominations] = await Promise.all([
    db().offer.findMany({
      where,
      select: {
        election,
        shift: true,
        seat: SEAT,
        events: {
          orderBy: { sequence: 'asc' },
          select: { kind: true, at: true, via: true, answerBy: true, reason: true, note: true },
        },
      },
    }),
    db().seating.findMany({
      where: { ...where, roster: { publishedAt: { not: null } } },
      select: {
        morningOn: true,
        afternoonOn: true,
        roster: { select: { version: true, publishedAt: true, election } },
        seat: SEAT,
      },
    }),
    db().nomination.findMany({
      where,
      orderBy: { listedOn: 'asc' },
      select: { party: true, positionKey: true, rank: true, listedOn: true },
    }),
  ])
  return {
    offers: offers.flatMap((offer) =>
      offer.events.map((event) => ({
        election: offer.election.name,
        ...seatRow(offer.seat),
        shift: offer.shift,
        ...event,
      })),
    ),
    seats: seatings.map(({ seat, roster, ...halves }) => ({
      election: roster.election.name,
      ...seatRow(seat),
      shift: partIn(halves),
      publishedAt: roster.publishedAt,
      version: roster.version,
    })),
    nominations,
  }
}

/** What the office wrote to the person and wrote down: reminders, calls, notes, exclusions, pairs, pay. Of a pair not
 *  with whom: that is told to the office alone. */
async function officeParts(workerId: string): Promise<Parts> {
  const where = { pollWorkerId: workerId }
  const omit = { id: true, pollWorkerId: true, countyId: true, recordedBy: true, takenBackBy: true } as const
  const [reminders, calls, notes, corrections, exclusions, pairs, pay] = await Promise.all([
    db().reminder.findMany({
      where,
      orderBy: { createdAt: 'asc' },
      select: {
        channel: true,
        locale: true,
        createdAt: true,
        returnedAt: true,
        matters: { select: { certificateKey: true, lapsesOn: true } },
      },
    }),
    db().contact.findMany({ where, orderBy: { at: 'asc' }, select: { at: true, outcome: true, note: true } }),
    db().personNote.findMany({ where, orderBy: { at: 'asc' }, select: { at: true, text: true } }),
    db().correctionRequest.findMany({
      where,
      orderBy: { askedAt: 'asc' },
      select: { askedAt: true, text: true, answeredAt: true, answer: true },
    }),
    db().exclusion.findMany({ where, orderBy: { recordedAt: 'asc' }, omit }),
    db().personPair.findMany({
      where: { OR: [where, { otherId: workerId }] },
      orderBy: { recordedAt: 'asc' },
      select: { kind: true, note: true, recordedAt: true, takenBackAt: true },
    }),
    db().payEntry.findMany({ where, orderBy: { recordedAt: 'asc' }, omit }),
  ])
  return { reminders, calls, notes, corrections, exclusions, pairs, pay }
}

/** What hangs on the account. Of a code only that there was one. */
async function accountParts(accountId: string): Promise<Parts> {
  const where = { accountId }
  const [account, access, signIns, codes, messages] = await Promise.all([
    db().account.findUniqueOrThrow({
      where: { id: accountId },
      omit: { passwordHash: true, totpSecret: true, totpLastStep: true },
    }),
    db().grant.findMany({
      where,
      orderBy: { createdAt: 'asc' },
      select: { access: true, countyId: true, createdAt: true, endedAt: true },
    }),
    db().signIn.findMany({ where, orderBy: { startedAt: 'asc' }, omit: { accountId: true, id: true } }),
    db().signInCode.findMany({
      where,
      orderBy: { createdAt: 'asc' },
      select: { kind: true, createdAt: true, expiresAt: true, usedAt: true, revokedAt: true },
    }),
    db().outboxMessage.findMany({
      where,
      orderBy: { createdAt: 'asc' },
      select: { kind: true, toAddress: true, subject: true, body: true, createdAt: true, sentAt: true },
    }),
  ])
  // A code that was never sent still stands in its message: it stays out.
  const told = messages.map((message) => (message.sentAt ? message : { ...message, body: null }))
  return { account: [account], access, signIns, codes, messages: told }
}
