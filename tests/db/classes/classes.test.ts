import { randomUUID } from 'node:crypto'
import { beforeAll, describe, expect, it } from 'vitest'
import type { Actor } from '@/lib/auth/actor'
import { getStandingOrThrow } from '@/lib/certification/queries'
import { cancelClass, changeClass, closeClass, makeClass } from '@/lib/classes/commands'
import { bookClass, bookFor, cancelBooking, giveUpFor } from '@/lib/classes/commands-bookings'
import { recordOath } from '@/lib/classes/commands-oath'
import { signInToClass, takeRoomRecords } from '@/lib/classes/commands-room'
import { getTraineeOrThrow } from '@/lib/classes/queries'
import { getMyClassOrThrow, listCountyClasses, listMyClasses } from '@/lib/classes/queries-classes'
import { getOathView } from '@/lib/classes/queries-oath'
import { db } from '@/lib/db/client'
import { addDays } from '@/lib/kernel/dates'
import { getMyPathOrThrow } from '@/lib/path/queries'
import { useDatabase } from '@/tests/support/database'
import { makeWorker } from '../scenarios/people'
import { begin, classInput, eventsAbout, mailTo, makeTrainee, makeTrainingCounty, today } from './support'

useDatabase()

let trainer: Actor
let clerk: Actor
let stranger: Actor
let electionId: string
beforeAll(async () => {
  ;({ trainer, clerk, stranger, electionId } = await makeTrainingCounty())
})

const plan = async (more: Record<string, unknown> = {}) =>
  (await makeClass(trainer, classInput(more))).classId
const facts = (actor: Actor, kind = 'classAttended') =>
  db().fact.findMany({ where: { pollWorkerId: actor.pollWorkerId!, kind }, orderBy: { recordedAt: 'asc' } })

describe('planning a class', () => {
  it('is for trainers and staff of the county, ahead of time, for a class that a rule asks for', async () => {
    await expect(makeClass(stranger, classInput())).rejects.toMatchObject({ code: 'NOT_FOUND' })
    await expect(makeClass(await makeTrainee(), classInput())).rejects.toMatchObject({ code: 'FORBIDDEN' })
    await expect(makeClass(trainer, classInput({ topic: 'no-such' }))).rejects.toMatchObject({
      fields: { topic: expect.any(String) },
    })
    await expect(makeClass(trainer, classInput({ on: addDays(today(), -1) }))).rejects.toMatchObject({
      fields: { on: expect.any(String) },
    })
    expect(() => classInput({ until: '17:00' })).toThrow(/later than the beginning/)
    const id = await plan({ topic: 'check-off-day' })
    expect(await eventsAbout(`class:${id}`)).toEqual(['class.made'])
    expect((await listCountyClasses(clerk, 'larkmoor')).upcoming.map((c) => c.id)).toContain(id)
    await expect(listCountyClasses(stranger, 'larkmoor')).rejects.toMatchObject({ code: 'NOT_FOUND' })
  })

  it('stands on the county’s clocks', async () => {
    const id = await plan({ on: '2031-07-01' })
    const row = await db().trainingClass.findUniqueOrThrow({ where: { id } })
    // Chicago in July: five hours behind UTC.
    expect(row.startsAt.toISOString()).toBe('2031-07-01T23:00:00.000Z')
  })
})

describe('booking', () => {
  it('fills the seats, then the waiting list; who gives up makes room, and the next is told once', async () => {
    const id = await plan()
    const [a, b, c, d] = [
      await makeTrainee('a@example.org'),
      await makeTrainee('b@example.org'),
      await makeTrainee('c@example.org', ['es']),
      await makeTrainee(),
    ]
    expect(await bookClass(a, id)).toEqual({ state: 'seat' })
    expect(await bookClass(a, id)).toEqual({ state: 'seat' })
    expect(await bookClass(b, id)).toEqual({ state: 'seat' })
    expect(await bookClass(c, id)).toEqual({ state: 'waiting', place: 1 })
    expect(await bookClass(d, id)).toEqual({ state: 'waiting', place: 2 })
    expect((await mailTo('a@example.org')).map((m) => m.kind)).toEqual(['class-booked'])
    expect((await mailTo('c@example.org'))[0]).toMatchObject({
      kind: 'class-waiting',
      locale: 'es',
      body: expect.stringContaining('número 1'),
    })
    await cancelBooking(b, id)
    await cancelBooking(b, id)
    expect((await getMyClassOrThrow(c, id, 'en')).mine).toEqual({ state: 'seat' })
    expect((await mailTo('c@example.org')).map((m) => m.kind)).toEqual(['class-waiting', 'class-seat-free'])
    // Who comes back stands at the end.
    expect(await bookClass(b, id)).toEqual({ state: 'waiting', place: 2 })
    // More seats: the others move up.
    await changeClass(trainer, { ...classInput({ seats: '4' }), classId: id, revision: 0 })
    expect((await getMyClassOrThrow(b, id, 'en')).mine).toEqual({ state: 'seat' })
    await expect(
      changeClass(trainer, { ...classInput({ seats: '3' }), classId: id, revision: 1 }),
    ).rejects.toMatchObject({ fields: { seats: 'At least 4.' } })
    expect(await eventsAbout(`class:${id}`)).toEqual([
      'class.made',
      ...Array(4).fill('class.booked'),
      'class.booking-cancelled',
      'class.booked',
      'class.changed',
    ])
  })

  it('gives the last seat to one of many who press at once', async () => {
    const id = await plan({ seats: '1' })
    const people = await Promise.all(Array.from({ length: 6 }, () => makeTrainee()))
    const states = await Promise.all(people.map((p) => bookClass(p, id)))
    expect(states.filter((s) => s.state === 'seat')).toHaveLength(1)
    expect(states.flatMap((s) => (s.state === 'waiting' ? [s.place] : [])).sort()).toEqual([1, 2, 3, 4, 5])
  })

  it('is not there for another county, and closed once the class begins', async () => {
    const id = await plan()
    const elsewhere = await makeWorker('fennick')
    await expect(bookClass(elsewhere, id)).rejects.toMatchObject({ code: 'NOT_FOUND' })
    expect(await listMyClasses(elsewhere, 'en')).toEqual([])
    const a = await makeTrainee()
    await begin(id)
    await expect(bookClass(a, id)).rejects.toMatchObject({ code: 'CONFLICT' })
    expect((await listMyClasses(a, 'en')).map((c) => c.id)).not.toContain(id)
  })

  it('is told of a changed day and of a cancelled class, each once', async () => {
    const id = await plan()
    const a = await makeTrainee('told@example.org')
    await bookClass(a, id)
    await changeClass(trainer, { ...classInput({ note: 'Bring water' }), classId: id, revision: 0 })
    await expect(
      changeClass(trainer, { ...classInput({ note: 'Bring tea' }), classId: id, revision: 0 }),
    ).rejects.toMatchObject({ code: 'CONFLICT' })
    expect(await cancelClass(trainer, id)).toEqual({ booked: 1, told: 1 })
    await expect(cancelClass(trainer, id)).rejects.toMatchObject({ code: 'CONFLICT' })
    expect((await mailTo('told@example.org')).map((m) => m.kind)).toEqual([
      'class-booked',
      'class-changed',
      'class-cancelled',
    ])
    await expect(bookClass(a, id)).rejects.toMatchObject({ code: 'CONFLICT' })
  })
})

describe('the sign-in sheet', () => {
  it('turns presence into a fact when it is closed, once; no-shows get none', async () => {
    const id = await plan()
    const [here, absent] = [await makeTrainee(), await makeTrainee()]
    await bookClass(here, id)
    const { countyRef } = await db().pollWorker.findUniqueOrThrow({ where: { id: absent.pollWorkerId! } })
    await bookFor(clerk, { classId: id, countyRef })
    const sign = (who: Actor, present: boolean) =>
      signInToClass(trainer, { classId: id, workerId: who.pollWorkerId!, here: present })
    await expect(sign(here, true)).rejects.toThrow(/Sign in on that day/)
    await expect(closeClass(trainer, id)).rejects.toMatchObject({ code: 'CONFLICT' })
    await begin(id)
    expect(await sign(here, true)).toEqual({ changed: true })
    expect(await sign(here, true)).toEqual({ changed: false })
    await expect(
      signInToClass(stranger, { classId: id, workerId: here.pollWorkerId!, here: true }),
    ).rejects.toMatchObject({ code: 'NOT_FOUND' })
    expect(await facts(here)).toHaveLength(0)
    expect(await closeClass(trainer, id)).toEqual({ attended: 1, noShows: 1 })
    expect(await closeClass(trainer, id)).toEqual({ attended: 1, noShows: 1 })
    expect(await facts(here)).toMatchObject([{ topic: 'lead-class', witnessedBy: 'Terry Trainer' }])
    expect(await facts(absent)).toHaveLength(0)
    expect((await getMyClassOrThrow(absent, id, 'en')).mine).toEqual({ state: 'noShow' })
    await expect(giveUpFor(clerk, { classId: id, workerId: here.pollWorkerId! })).rejects.toMatchObject({
      code: 'CONFLICT',
    })

    // A wrong mark is put right afterwards: facts follow, nothing is deleted.
    await db().pollWorker.update({ where: { id: here.pollWorkerId! }, data: { wantsPositionKey: 'lead' } })
    const attended = async () =>
      (await getMyPathOrThrow(here, 'en')).steps.find((s) => s.kind === 'classAttended')?.done
    expect(await attended()).toBe(true)
    await sign(here, false)
    expect(await attended()).toBe(false)
    await sign(here, true)
    expect(await attended()).toBe(true)
    expect(await facts(here)).toHaveLength(2)
  })

  it('rolls everything back when one fact can’t be written', async () => {
    const id = await plan()
    const a = await makeTrainee()
    await bookClass(a, id)
    await begin(id)
    await signInToClass(trainer, { classId: id, workerId: a.pollWorkerId!, here: true })
    // An account that is no uuid breaks the audit record, the last step.
    await expect(closeClass({ ...trainer, accountId: 'broken' }, id)).rejects.toThrow()
    expect(await facts(a)).toHaveLength(0)
    expect(await db().trainingClass.findUniqueOrThrow({ where: { id } })).toMatchObject({ closedAt: null })
  })
})

describe('records from a tablet', () => {
  const checkOff = (who: Actor, more: object = {}) => ({
    kind: 'checkOff' as const,
    key: randomUUID(),
    workerId: who.pollWorkerId!,
    task: 'card-handling',
    equipmentProfile: 'fern',
    result: 'done' as const,
    on: today(),
    ...more,
  })

  it('count once, say who watched, and a refusal does not hold up the others', async () => {
    const a = await makeTrainee()
    const batch = [
      checkOff(a, { result: 'repeat' }),
      checkOff(a, { workerId: randomUUID() }),
      checkOff(a),
      {
        kind: 'signIn' as const,
        key: randomUUID(),
        workerId: a.pollWorkerId!,
        classId: randomUUID(),
        here: true,
      },
    ]
    const first = await takeRoomRecords(trainer, 'larkmoor', batch)
    expect(first.map((o) => o.status)).toEqual(['recorded', 'refused', 'recorded', 'refused'])
    const again = await takeRoomRecords(trainer, 'larkmoor', batch)
    expect(again.map((o) => o.status)).toEqual(['already', 'refused', 'already', 'refused'])
    const { records, tasks } = await getTraineeOrThrow(trainer, 'larkmoor', a.pollWorkerId!)
    expect(records.map((r) => [r.result, r.by])).toEqual([
      ['done', 'Terry Trainer'],
      ['repeat', 'Terry Trainer'],
    ])
    expect(tasks).toMatchObject([{ key: 'card-handling', missing: false, last: { result: 'done' } }])
    await expect(takeRoomRecords(stranger, 'larkmoor', batch)).rejects.toMatchObject({ code: 'NOT_FOUND' })
    await expect(takeRoomRecords(a, 'larkmoor', batch)).rejects.toMatchObject({ code: 'FORBIDDEN' })
  })

  it('‘to repeat’ counts for nothing', async () => {
    const a = await makeTrainee()
    await takeRoomRecords(trainer, 'larkmoor', [checkOff(a, { result: 'repeat' })])
    const { tasks } = await getTraineeOrThrow(trainer, 'larkmoor', a.pollWorkerId!)
    expect(tasks).toMatchObject([{ missing: true, last: { result: 'repeat' } }])
  })

  it('two sendings of the same batch at once record each once', async () => {
    const a = await makeTrainee()
    const batch = [checkOff(a), checkOff(a, { result: 'repeat' })]
    const sent = await Promise.all([1, 2, 3].map(() => takeRoomRecords(trainer, 'larkmoor', batch)))
    expect(sent.flat().filter((o) => o.status === 'recorded')).toHaveLength(2)
    expect(sent.flat().filter((o) => o.status === 'already')).toHaveLength(4)
  })
})

describe('the oath', () => {
  it('is recorded for one election with who administered it, once, and a rule can ask for it', async () => {
    const a = await makeTrainee()
    const input = {
      countyId: 'larkmoor',
      electionId,
      workerIds: [a.pollWorkerId!],
      administeredBy: 'Dana Reyes, deputy clerk',
      on: today(),
    }
    await expect(recordOath(stranger, input)).rejects.toMatchObject({ code: 'NOT_FOUND' })
    await expect(recordOath(trainer, { ...input, on: addDays(today(), 1) })).rejects.toMatchObject({
      fields: { on: expect.any(String) },
    })
    await expect(
      recordOath(trainer, { ...input, workerIds: [a.pollWorkerId!, randomUUID()] }),
    ).rejects.toMatchObject({ code: 'NOT_FOUND' })
    expect(await facts(a, 'oathSworn')).toHaveLength(0)
    const twice = await Promise.all([recordOath(trainer, input), recordOath(clerk, input)])
    expect(twice.reduce((n, r) => n + r.recorded, 0)).toBe(1)
    expect(await recordOath(trainer, input)).toEqual({ recorded: 0, already: 1 })
    const view = await getOathView(trainer, 'larkmoor', { search: '', page: 0 })
    expect(view.rows.find((r) => r.workerId === a.pollWorkerId)?.oath).toMatchObject({
      on: today(),
      administeredBy: 'Dana Reyes, deputy clerk',
    })
    const lead = (await getStandingOrThrow(a, a.pollWorkerId!)).certificates[0]!
    expect(lead.todo.map((t) => t.rule.fact)).toEqual(['classAttended', 'checkOff'])
  })
})
