/** Two counties of one state, and accounts in them, for the tests of sign-in. */
import { randomUUID } from 'node:crypto'
import type { Actor } from '@/lib/auth/actor'
import { actorOf } from '@/lib/auth/actor-of'
import { hashPassword } from '@/lib/auth/passwords'
import type { RequestMeta } from '@/lib/auth/sign-ins'
import { db } from '@/lib/db/client'
import type { Access } from '@/prisma/client/enums'

export const PASSWORD = 'harbor lantern violet'
let passwordHash: string | undefined

export async function makeCounties(): Promise<void> {
  await db().state.create({
    data: { id: 'state', name: 'State', abbreviation: 'ST', timeZone: 'America/Chicago' },
  })
  for (const id of ['own', 'other'])
    await db().county.create({
      data: { id, stateId: 'state', name: id, timeZone: 'America/Chicago', equipmentProfile: 'paper' },
    })
}

export const meta = (changes: Partial<RequestMeta> = {}): RequestMeta => ({
  // Every test is a sender of its own, so that limits don't reach over.
  address: randomUUID(),
  device: 'Firefox · Linux',
  sharedTablet: false,
  at: new Date(),
  ...changes,
})

export async function makeAccount(
  access: Access | Access[],
  countyId: string | null = 'own',
): Promise<{ id: string; email: string }> {
  passwordHash ??= await hashPassword(PASSWORD)
  const email = `${randomUUID()}@example.org`
  const kinds = [access].flat()
  const staff = kinds.some((kind) => kind !== 'pollWorker')
  const { id } = await db().account.create({
    data: {
      email,
      name: 'Rosalind Vega',
      passwordHash: staff ? passwordHash : null,
      grants: { create: kinds.map((kind) => ({ access: kind, countyId })) },
    },
  })
  return { id, email }
}

export async function makeWorker(countyId = 'own', email: string | null = null) {
  return db().pollWorker.create({
    data: {
      countyId,
      countyRef: randomUUID(),
      givenName: 'Ines',
      familyName: 'Ocampo',
      email,
      languages: ['es'],
    },
  })
}

/** Somebody signed in, as commands see them. */
export async function signedIn(access: Access | Access[], countyId: string | null = 'own'): Promise<Actor> {
  const account = await makeAccount(access, countyId)
  const signIn = await db().signIn.create({
    data: {
      accountId: account.id,
      method: access === 'pollWorker' ? 'card' : 'password',
      device: 'test',
      expiresAt: new Date(Date.now() + 3_600_000),
    },
  })
  return (await actorOf(signIn.id))!
}

/** The audit records about an account, oldest first. */
export const auditOf = (accountId: string) =>
  db().auditRecord.findMany({
    where: { subject: `account:${accountId}` },
    orderBy: [{ chain: 'asc' }, { sequence: 'asc' }],
  })
export const eventsOf = async (accountId: string) => (await auditOf(accountId)).map((record) => record.event)
