/** Two small counties with a few people, for tests of what a poll worker does. */
import { randomUUID } from 'node:crypto'
import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import type { PlayEvent } from '@/lib/scenarios/schema'
import type { Access } from '@/prisma/client/enums'

export async function makeCounties(): Promise<void> {
  await db().state.create({
    data: { id: 'st', name: 'State', abbreviation: 'ST', timeZone: 'America/Chicago' },
  })
  for (const id of ['larkmoor', 'fennick'])
    await db().county.create({
      data: { id, stateId: 'st', name: id, timeZone: 'America/Chicago', equipmentProfile: 'fern' },
    })
}

/** A poll worker with an account, as the actor that they are when signed in. */
export async function makeWorker(
  countyId = 'larkmoor',
  extra: { timeMultiplier?: number } = {},
): Promise<Actor> {
  const worker = await db().pollWorker.create({
    data: { countyId, countyRef: randomUUID().slice(0, 8), givenName: 'A', familyName: 'B', ...extra },
  })
  return makeActor('pollWorker', countyId, worker.id)
}

export async function makeActor(
  access: Access,
  countyId: string | null,
  pollWorkerId: string | null = null,
): Promise<Actor> {
  const account = await db().account.create({ data: { name: 'A B', pollWorkerId } })
  await db().grant.create({ data: { accountId: account.id, access, countyId } })
  return {
    accountId: account.id,
    signInId: randomUUID(),
    name: 'A B',
    locale: 'en',
    pollWorkerId,
    sharedTablet: false,
    grants: [{ access, countyId }],
  }
}

/** 'The station gave the card back' on the fern equipment, played without a fault; every judged step is sound. */
export const SOUND_LOG: PlayEvent[] = [
  { type: 'choose', option: 'ask-near' },
  { type: 'choose', option: 'beside' },
  { type: 'act', act: 'ask-leave' },
  { type: 'station', event: { type: 'turn' } },
  { type: 'station', event: { type: 'flip' } },
  { type: 'station', event: { type: 'insert' } },
  { type: 'choose', option: 'step-back' },
  { type: 'choose', option: 'nothing-wrong' },
  { type: 'move', item: 'see-hand', to: 0 },
  { type: 'move', item: 'ask', to: 1 },
  { type: 'move', item: 'stand-beside', to: 2 },
  { type: 'move', item: 'show-cue', to: 3 },
  { type: 'move', item: 'voter-turns', to: 4 },
  { type: 'move', item: 'step-away', to: 5 },
  { type: 'hand-in' },
  { type: 'choose', option: 'tell-lead' },
]
