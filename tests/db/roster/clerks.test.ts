/** Ten scripted clerks edit one roster at once, each with a page that may be old: for ten seconds, with TEST_FULL=1 for
 *  a minute. Whatever they do, nobody is booked twice, no accepted change is lost, and the audit chain verifies. */
import { randomUUID } from 'node:crypto'
import { setTimeout as pause } from 'node:timers/promises'
import { expect, it } from 'vitest'
import { verifyChain } from '@/lib/audit/verify'
import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { AppError } from '@/lib/kernel/errors'
import { seededRandom, seedOf } from '@/lib/kernel/random'
import { emptySeat, lockSeat, moveSeat, publishRoster, seatPerson, swapSeats } from '@/lib/roster/commands'
import { listChanges } from '@/lib/roster/queries-changes'
import { useDatabase } from '@/tests/support/database'
import { actorWith, makeSmallCounty, markOf, type SmallCounty } from './support'

useDatabase()

const SECONDS = process.env.TEST_FULL === '1' ? 60 : 10
const CLERKS = 10
const PEOPLE = 30

it(
  `keeps one roster whole while ten clerks edit it for ${SECONDS} seconds`,
  async () => {
    const c = await makeSmallCounty()
    const { seats, people } = await enlarge(c)
    const clerks = Array.from({ length: CLERKS }, () => actorWith('countyStaff', c.countyId))
    const until = Date.now() + SECONDS * 1000
    const tallies = await Promise.all(clerks.map((clerk, i) => work(c, clerk, i, seats, people, until)))
    const accepted = tallies.reduce((sum, t) => sum + t.accepted, 0)
    const refused = tallies.reduce((sum, t) => sum + t.refused, 0)
    const stale = tallies.reduce((sum, t) => sum + t.stale, 0)
    console.log(
      `${CLERKS} clerks, ${SECONDS} s: ${accepted} accepted, ${refused} refused, ${stale} of them stale`,
    )
    // They got in each other's way, and got on.
    expect(accepted).toBeGreaterThan(CLERKS)
    expect(stale).toBeGreaterThan(0)

    // Nobody twice at a time, no seat twice: read from the rows, not from the keys that enforce it.
    const rosters = await db().roster.findMany({
      where: { electionId: c.electionId },
      include: { seatings: true },
    })
    for (const { seatings } of rosters) {
      const halves = seatings.flatMap((s) => [
        ...(s.morningOn ? [`${s.pollWorkerId} ${s.morningOn} morning`] : []),
        ...(s.afternoonOn ? [`${s.pollWorkerId} ${s.afternoonOn} afternoon`] : []),
      ])
      expect(new Set(halves).size).toBe(halves.length)
      expect(new Set(seatings.map((s) => s.seatId)).size).toBe(seatings.length)
    }

    // Nothing lost: the audit records, replayed by themselves, give the newest roster.
    const records = await db().auditRecord.findMany({
      where: { chain: c.countyId, event: { startsWith: 'roster.' } },
      orderBy: { sequence: 'asc' },
    })
    const replayed = new Map<string, string>()
    let changes = 0
    for (const { event, detail } of records) {
      const d = detail as { seatId?: string; seatIds?: [string, string]; toWorkerId?: string | null }
      if (event === 'roster.seat-changed') {
        if (d.toWorkerId) replayed.set(d.seatId!, d.toWorkerId)
        else replayed.delete(d.seatId!)
      } else if (event === 'roster.swapped') {
        const [one, other] = d.seatIds!.map((id) => replayed.get(id)!) as [string, string]
        replayed.set(d.seatIds![0], other)
        replayed.set(d.seatIds![1], one)
      }
      if (event !== 'roster.published') changes++
    }
    const newest = rosters.sort((a, b) => b.version - a.version)[0]!
    const sits = (entries: [string, string][]) => entries.map(([s, p]) => `${s} ${p}`).sort()
    expect(sits([...replayed])).toEqual(
      sits(newest.seatings.map((s): [string, string] => [s.seatId, s.pollWorkerId])),
    )
    // A move is two records of one change.
    expect(changes).toBeGreaterThanOrEqual(accepted - rosters.length)
    expect((await verifyChain(db(), c.countyId)).status).toBe('whole')
    const seen = await listChanges(clerks[0]!, c.countyId, c.electionId, null)
    expect(seen.changes.length).toBeGreaterThan(0)
  },
  SECONDS * 1000 + 120_000,
)

/** Twenty more check-in seats and thirty people who may sit in them. */
async function enlarge(c: SmallCounty) {
  const first = await db().seat.findUniqueOrThrow({ where: { id: c.seats.northCheckIn } })
  const seats = Array.from({ length: 20 }, (_, i) => ({
    ...first,
    id: randomUUID(),
    number: 2 + i,
    pollingPlaceId: i % 2 ? c.places.north : c.places.south,
    shift: i % 5 === 0 ? 'morning' : 'full',
  }))
  await db().seat.createMany({ data: seats })
  const people = Array.from({ length: PEOPLE }, (_, i) => ({
    id: randomUUID(),
    countyId: c.countyId,
    countyRef: `X${i}`,
    givenName: `Person${i}`,
    familyName: 'Test',
    languages: ['en'],
  }))
  await db().pollWorker.createMany({ data: people })
  await db().certificateSpan.createMany({
    data: people.map((p) => ({
      countyId: c.countyId,
      pollWorkerId: p.id,
      certificateKey: 'check-in',
      validFrom: '2028-01-01',
      validUntil: null,
    })),
  })
  return { seats: seats.map((s) => s.id), people: people.map((p) => p.id) }
}

interface Tally {
  accepted: number
  refused: number
  stale: number
}

/** One clerk: looks, thinks for a moment, acts on what they saw. */
async function work(
  c: SmallCounty,
  clerk: Actor,
  n: number,
  seats: string[],
  people: string[],
  until: number,
): Promise<Tally> {
  const { next: random } = seededRandom(seedOf(`clerk ${n}`))
  const one = <T>(list: T[]): T => list[Math.floor(random() * list.length)]!
  const tally: Tally = { accepted: 0, refused: 0, stale: 0 }
  while (Date.now() < until) {
    const expected = await markOf(c.electionId)
    await pause(random() * 60)
    const on = { electionId: c.electionId, seatId: one(seats), expected }
    const acts = [
      () => seatPerson(clerk, { ...on, workerId: one(people), move: random() < 0.5 ? 'yes' : 'no' }),
      () => seatPerson(clerk, { ...on, workerId: one(people), move: 'yes' }),
      () => moveSeat(clerk, { ...on, toSeatId: one(seats) }),
      () => swapSeats(clerk, { ...on, otherSeatId: one(seats) }),
      () => emptySeat(clerk, on),
      () => lockSeat(clerk, { ...on, locked: random() < 0.2 }),
      ...(random() < 0.02 ? [() => publishRoster(clerk, { electionId: c.electionId, expected })] : []),
    ]
    try {
      await one(acts as (() => Promise<unknown>)[])()
      tally.accepted++
    } catch (error) {
      // A refusal is a sentence; anything else is a fault.
      if (!(error instanceof AppError)) throw error
      tally.refused++
      if (/Somebody changed this roster/.test(error.userMessage)) tally.stale++
    }
  }
  return tally
}
