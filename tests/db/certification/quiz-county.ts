import { randomUUID } from 'node:crypto'
import type { Actor } from '@/lib/auth/actor'
import { recordFact } from '@/lib/certification/commands'
import { db } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { type CivilDate, civilDate } from '@/lib/kernel/dates'
import { actorWith } from '../roster/support'

/** A county with one certificate: the quiz passed within twelve months. One person, who has done nothing yet. */
export async function makeQuizCounty(): Promise<{
  countyId: string
  workerId: string
  me: Actor
  clerk: Actor
  admin: Actor
}> {
  const countyId = `c-${randomUUID().slice(0, 8)}`
  await db().state.upsert({
    where: { id: 's' },
    create: { id: 's', name: 'State', abbreviation: 'ST', timeZone: 'America/Chicago' },
    update: {},
  })
  await db().county.create({
    data: {
      id: countyId,
      stateId: 's',
      name: 'Quill County',
      timeZone: 'America/Chicago',
      equipmentProfile: 'fern',
      positions: {
        create: {
          key: 'check-in',
          nameEn: 'Check-in',
          nameEs: 'Registro',
          rank: 1,
          certificateKey: 'check-in',
        },
      },
      pollWorkers: {
        create: {
          countyRef: 'Q-1',
          givenName: 'Inés',
          familyName: 'Quarrell',
          languages: ['es'],
          unavailableOn: [],
        },
      },
    },
  })
  await db().ruleSet.create({
    data: {
      countyId,
      certificateKey: 'check-in',
      version: 1,
      effectiveFrom: '2020-01-01',
      requirement: {
        kind: 'evidence',
        fact: 'quizPassed',
        topic: 'basics',
        window: { kind: 'months', months: 12 },
      },
      citation: 'test',
    },
  })
  const worker = await db().pollWorker.findFirstOrThrow({ where: { countyId } })
  return {
    countyId,
    workerId: worker.id,
    me: { ...actorWith('pollWorker', countyId), pollWorkerId: worker.id },
    clerk: actorWith('countyStaff', countyId),
    admin: actorWith('administrator', countyId),
  }
}

export const pass = (county: { countyId: string; workerId: string }, on: string, at: Date) =>
  transaction((tx) =>
    recordFact(
      tx,
      { accountId: null, at },
      {
        countyId: county.countyId,
        workerId: county.workerId,
        kind: 'quizPassed',
        topic: 'basics',
        on: civilDate(on) as CivilDate,
      },
    ),
  )
