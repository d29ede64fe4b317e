/** A county with a lead rule that asks for a class, a check-off and the oath; trainers, a clerk and poll workers. */
import { randomUUID } from 'node:crypto'
import type { Actor } from '@/lib/auth/actor'
import { makeClass } from '@/lib/classes/commands'
import { ClassInput } from '@/lib/classes/schema'
import { db } from '@/lib/db/client'
import { addDays, type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import type { Prisma } from '@/prisma/client/client'
import { makeActor, makeCounties } from '../scenarios/people'

export const ZONE = 'America/Chicago'
export const today = (): CivilDate => civilDateAt(new Date(), ZONE)

const leaf = (fact: string, topic: string, window: object, more: object = {}) => ({
  kind: 'evidence',
  fact,
  topic,
  window,
  label: { en: `${fact} ${topic}`, es: `${fact} ${topic} (es)` },
  ...more,
})

export async function makeTrainingCounty(): Promise<{
  trainer: Actor
  clerk: Actor
  stranger: Actor
  electionId: string
}> {
  await makeCounties()
  await db().position.create({
    data: {
      countyId: 'larkmoor',
      key: 'lead',
      nameEn: 'Lead',
      nameEs: 'Encargado',
      rank: 1,
      certificateKey: 'lead',
    },
  })
  await db().ruleSet.create({
    data: {
      countyId: 'larkmoor',
      certificateKey: 'lead',
      version: 1,
      effectiveFrom: '2020-01-01',
      citation: 'none yet',
      requirement: {
        kind: 'all',
        of: [
          leaf('classAttended', 'lead-class', { kind: 'months', months: 24 }),
          leaf('checkOff', 'card-handling', { kind: 'months', months: 24 }, { equipment: { kind: 'inUse' } }),
          leaf('oathSworn', 'oath', { kind: 'sameElection' }),
        ],
      } as unknown as Prisma.InputJsonValue,
    },
  })
  const election = await db().election.create({
    data: { countyId: 'larkmoor', name: 'General', kind: 'general', heldOn: addDays(today(), 60) },
  })
  return {
    trainer: { ...(await makeActor('trainer', 'larkmoor')), name: 'Terry Trainer' },
    clerk: await makeActor('countyStaff', 'larkmoor'),
    stranger: await makeActor('trainer', 'fennick'),
    electionId: election.id,
  }
}

export async function makeTrainee(email: string | null = null, languages = ['en']): Promise<Actor> {
  const worker = await db().pollWorker.create({
    data: {
      countyId: 'larkmoor',
      countyRef: randomUUID().slice(0, 8),
      givenName: 'Ana',
      familyName: 'Bell',
      email,
      languages,
    },
  })
  return makeActor('pollWorker', 'larkmoor', worker.id)
}

export const classInput = (more: Record<string, unknown> = {}): ClassInput =>
  ClassInput.parse({
    countyId: 'larkmoor',
    topic: 'lead-class',
    positionKey: 'lead',
    locale: 'en',
    placeName: 'Hall',
    placeAddress: '1 Road',
    on: addDays(today(), 7),
    from: '18:00',
    until: '20:00',
    seats: '2',
    trainerName: 'Terry Trainer',
    note: '',
    ...more,
  })

/** A class that is planned and then moved into the past, as time would. */
export async function classHeldNow(trainer: Actor, more: Record<string, unknown> = {}): Promise<string> {
  const { classId } = await makeClass(trainer, classInput(more))
  return classId
}
export async function begin(classId: string): Promise<void> {
  await db().trainingClass.update({
    where: { id: classId },
    data: { startsAt: new Date(Date.now() - 60_000), endsAt: new Date(Date.now() + 3_600_000) },
  })
}

export const mailTo = (address: string) =>
  db().outboxMessage.findMany({ where: { toAddress: address }, orderBy: { id: 'asc' } })
export const eventsAbout = async (subject: string) =>
  (await db().auditRecord.findMany({ where: { subject }, orderBy: { sequence: 'asc' } })).map((r) => r.event)
