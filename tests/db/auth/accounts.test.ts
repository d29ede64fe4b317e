import { beforeAll, describe, expect, it, vi } from 'vitest'
import { listAudit, verifyCountyChain } from '@/lib/audit/queries'
import {
  createAccount,
  disableAccount,
  enableAccount,
  setOwnPassword,
  setPassword,
} from '@/lib/auth/accounts'
import type { Actor } from '@/lib/auth/actor'
import { actorOf } from '@/lib/auth/actor-of'
import { removeAuthenticator } from '@/lib/auth/authenticator'
import { printSignInCard, revokeCards } from '@/lib/auth/cards'
import { setStaffAuthenticatorRequired } from '@/lib/auth/office-settings'
import { getAccount, getOffice, listAccounts, listOffices } from '@/lib/auth/queries'
import { signInByPassword } from '@/lib/auth/sign-in-by-password'
import { endAllSignIns, endSignIn, listMySignIns, listSignIns } from '@/lib/auth/sign-ins'
import { setTablet, tabletOf } from '@/lib/auth/tablet'
import { db } from '@/lib/db/client'
import { listOutbox } from '@/lib/notices/queries'
import { useDatabase } from '@/tests/support/database'
import { auditOf, eventsOf, makeAccount, makeCounties, makeWorker, meta, PASSWORD, signedIn } from './people'

// A failure half-way: the audit record is the last thing that each command writes.
const broken = vi.hoisted(() => ({ now: false }))
vi.mock('@/lib/audit/append', async (original) => {
  const real = await original<typeof import('@/lib/audit/append')>()
  return {
    ...real,
    appendAudit: (...words: Parameters<typeof real.appendAudit>) => {
      if (broken.now) throw new Error('half-way')
      return real.appendAudit(...words)
    },
  }
})

useDatabase()
beforeAll(makeCounties)

const newAccount = (countyId: string | null = 'own') => ({
  email: `${crypto.randomUUID()}@example.org`,
  name: 'Tobias Lindqvist',
  access: 'trainer' as const,
  countyId,
})

/** Everything that a command could have left behind. */
const traces = async () => ({
  accounts: await db().account.findMany({ orderBy: { id: 'asc' } }),
  grants: await db().grant.count(),
  codes: await db().signInCode.findMany({ orderBy: { id: 'asc' } }),
  signIns: await db().signIn.findMany({ orderBy: { id: 'asc' }, omit: { lastSeenAt: true } }),
  outbox: await db().outboxMessage.count(),
  jobs: await db().$queryRaw`SELECT count(*)::int FROM graphile_worker.jobs`,
  counties: await db().county.findMany({ orderBy: { id: 'asc' } }),
  audit: await db().auditRecord.count(),
})

type Target = { accountId: string; workerId: string; signInId: string }
interface Command {
  name: string
  may: 'administrator' | 'trainer' | 'countyStaff'
  /** In the county, without the permission. */
  mayNot: 'administrator' | 'trainer' | 'countyStaff' | 'pollWorker'
  event: string
  run: (actor: Actor, target: Target, countyId: string) => Promise<unknown>
}
const COMMANDS: Command[] = [
  {
    name: 'createAccount',
    may: 'administrator',
    mayNot: 'countyStaff',
    event: 'account.created',
    run: (actor, _, countyId) => createAccount(actor, newAccount(countyId)),
  },
  {
    name: 'setStaffAuthenticatorRequired',
    may: 'administrator',
    mayNot: 'countyStaff',
    event: 'county.settings-changed',
    run: (actor, _, countyId) => setStaffAuthenticatorRequired(actor, countyId, false),
  },
  {
    name: 'disableAccount',
    may: 'administrator',
    mayNot: 'countyStaff',
    event: 'account.disabled',
    run: (actor, target) => disableAccount(actor, target.accountId),
  },
  {
    name: 'setPassword',
    may: 'administrator',
    mayNot: 'trainer',
    event: 'account.password-set',
    run: (actor, target) => setPassword(actor, target.accountId),
  },
  {
    name: 'removeAuthenticator',
    may: 'administrator',
    mayNot: 'countyStaff',
    event: 'account.authenticator-removed',
    run: (actor, target) => removeAuthenticator(actor, target.accountId),
  },
  {
    name: 'printSignInCard',
    may: 'trainer',
    mayNot: 'pollWorker',
    event: 'sign-in.card-printed',
    run: (actor, target) => printSignInCard(actor, target.workerId),
  },
  {
    name: 'revokeCards',
    may: 'countyStaff',
    mayNot: 'pollWorker',
    event: 'sign-in.cards-revoked',
    run: (actor, target) => revokeCards(actor, target.accountId),
  },
  {
    name: 'endSignIn',
    may: 'countyStaff',
    mayNot: 'trainer',
    event: 'sign-in.ended',
    run: (actor, target) => endSignIn(actor, target.signInId),
  },
  {
    name: 'endAllSignIns',
    may: 'administrator',
    mayNot: 'trainer',
    event: 'sign-in.ended',
    run: (actor, target) => endAllSignIns(actor, target.accountId),
  },
]

async function makeTarget(): Promise<Target> {
  const victim = await signedIn('countyStaff')
  const worker = await makeWorker()
  return { accountId: victim.accountId, workerId: worker.id, signInId: victim.signInId }
}

describe.each(COMMANDS)('$name', ({ may, mayNot, event, run }) => {
  it('is open to its role, in its county and from the state office, and is audited', async () => {
    for (const actor of [await signedIn(may), await signedIn(may, null)]) {
      await run(actor, await makeTarget(), 'own')
      const record = await db().auditRecord.findFirstOrThrow({
        where: { event, actorAccountId: actor.accountId },
      })
      expect(record.chain).toBe('own')
    }
  })

  it('is refused to another role, and not found from another county', async () => {
    const target = await makeTarget()
    const inside = await signedIn(mayNot)
    const outside = await signedIn(may, 'other')
    const before = await traces()
    await expect(run(inside, target, 'own')).rejects.toMatchObject({ code: 'FORBIDDEN' })
    await expect(run(outside, target, 'own')).rejects.toMatchObject({ code: 'NOT_FOUND' })
    expect(await traces()).toEqual(before)
  })

  it('leaves nothing when it fails half-way', async () => {
    const target = await makeTarget()
    const actor = await signedIn(may)
    const before = await traces()
    broken.now = true
    await expect(run(actor, target, 'own')).rejects.toThrow('half-way')
    broken.now = false
    expect(await traces()).toEqual(before)
  })
})

describe('an account', () => {
  it('can sign in with its first password, which is mailed nowhere', async () => {
    const admin = await signedIn('administrator')
    const input = newAccount()
    const { firstPassword, accountId } = await createAccount(admin, input)
    expect((await signInByPassword({ email: input.email, password: firstPassword }, meta())).status).toBe(
      'signed-in',
    )
    const message = await db().outboxMessage.findFirstOrThrow({ where: { accountId } })
    expect(message.body).not.toContain(firstPassword)
    await expect(createAccount(admin, input)).rejects.toMatchObject({ code: 'CONFLICT' })
  })

  it('loses every sign-in at the moment it is disabled, and comes back without them', async () => {
    const admin = await signedIn('administrator')
    const staff = await signedIn('countyStaff')
    expect(await actorOf(staff.signInId)).not.toBeNull()
    await disableAccount(admin, staff.accountId)
    expect(await actorOf(staff.signInId)).toBeNull()
    await enableAccount(admin, staff.accountId)
    expect(await actorOf(staff.signInId)).toBeNull()
    expect(await eventsOf(staff.accountId)).toEqual(['sign-in.ended', 'account.disabled', 'account.enabled'])
    await expect(disableAccount(admin, admin.accountId)).rejects.toMatchObject({ code: 'CONFLICT' })
  })

  it('with access elsewhere can’t be taken over by a county’s administrator', async () => {
    const admin = await signedIn('administrator')
    const both = await makeAccount('countyStaff', 'own')
    await db().grant.create({ data: { accountId: both.id, access: 'administrator', countyId: null } })
    for (const takeOver of [setPassword, disableAccount, removeAuthenticator])
      await expect(takeOver(admin, both.id)).rejects.toMatchObject({ code: 'FORBIDDEN' })
    const state = await signedIn('administrator', null)
    await setPassword(state, both.id)
  })

  it('changes its own password with the present one; its other sign-ins end', async () => {
    const account = await makeAccount('countyStaff')
    const open = async () => {
      const answer = await signInByPassword({ email: account.email, password: PASSWORD }, meta())
      if (answer.status !== 'signed-in') throw new Error(answer.status)
      return (await actorOf(answer.signIn.signInId))!
    }
    const here = await open()
    const there = await open()
    const newPassword = 'copper meadow signal'
    await expect(setOwnPassword(here, { password: 'wrong', newPassword })).rejects.toMatchObject({
      fields: { password: expect.any(String) },
    })
    await expect(setOwnPassword(here, { password: PASSWORD, newPassword: 'short' })).rejects.toMatchObject({
      fields: { newPassword: expect.any(String) },
    })
    await setOwnPassword(here, { password: PASSWORD, newPassword })
    expect(await actorOf(here.signInId)).not.toBeNull()
    expect(await actorOf(there.signInId)).toBeNull()
    expect((await signInByPassword({ email: account.email, password: newPassword }, meta())).status).toBe(
      'signed-in',
    )
  })
})

describe('lists', () => {
  it.each([
    [
      'accounts',
      (actor: Actor) => listAccounts(actor, 'own', { kind: 'staff' }),
      'administrator',
      'countyStaff',
    ],
    ['sign-ins', (actor: Actor) => listSignIns(actor, 'own'), 'countyStaff', 'trainer'],
    ['outbox', (actor: Actor) => listOutbox(actor, 'own'), 'administrator', 'countyStaff'],
    ['audit', (actor: Actor) => listAudit(actor, 'own'), 'administrator', 'countyStaff'],
    ['chain', (actor: Actor) => verifyCountyChain(actor, 'own'), 'administrator', 'trainer'],
  ] as const)('of %s are for their role in their county', async (_, list, may, mayNot) => {
    await list(await signedIn(may))
    await list(await signedIn(may, null))
    await expect(list(await signedIn(mayNot))).rejects.toMatchObject({ code: 'FORBIDDEN' })
    await expect(list(await signedIn(may, 'other'))).rejects.toMatchObject({ code: 'NOT_FOUND' })
  })

  it('show a county its own accounts and sign-ins only', async () => {
    const elsewhere = await signedIn('trainer', 'other')
    const here = await signedIn('trainer')
    const admin = await signedIn('administrator')
    const accounts = (await listAccounts(admin, 'own', { kind: 'staff' })).map((account) => account.id)
    expect(accounts).toContain(here.accountId)
    expect(accounts).not.toContain(elsewhere.accountId)
    const signIns = (await listSignIns(admin, 'own')).map((signIn) => signIn.accountId)
    expect(signIns).toContain(here.accountId)
    expect(signIns).not.toContain(elsewhere.accountId)
    expect(await listMySignIns(here)).toMatchObject([{ id: here.signInId, current: true }])
    expect(await getAccount(admin, 'own', here.accountId)).toMatchObject({ access: [{ access: 'trainer' }] })
    for (const id of [elsewhere.accountId, 'no id'])
      await expect(getAccount(admin, 'own', id)).rejects.toMatchObject({ code: 'NOT_FOUND' })
    expect(await listOffices(admin)).toEqual([{ countyId: 'own', name: 'own' }])
    await expect(getOffice(admin, 'other')).rejects.toMatchObject({ code: 'NOT_FOUND' })
    await expect(getOffice(admin, null)).rejects.toMatchObject({ code: 'NOT_FOUND' })
    expect(await verifyCountyChain(admin, 'own')).toMatchObject({ status: 'whole' })
  })
})

describe('a shared tablet', () => {
  it('is set up by whoever may print cards; its mark can’t be made up', async () => {
    const trainer = await signedIn('trainer')
    const mark = (await setTablet(trainer, { on: true }))!
    const tablet = tabletOf(mark.cookie, new Date())
    expect(tablet).toEqual({ tabletId: expect.any(String) })
    expect(tabletOf(`${mark.cookie.slice(0, -1)}0`, new Date()) ?? 'none').not.toEqual({
      tabletId: 'made up',
    })
    const [body] = mark.cookie.split('.')
    expect(tabletOf(`${body}x.${mark.cookie.split('.')[1]}`, new Date())).toBeNull()
    expect(tabletOf(mark.cookie, mark.expiresAt)).toBeNull()
    expect(await setTablet(trainer, { on: false, tabletId: tablet!.tabletId })).toBeNull()
    expect((await auditOf(trainer.accountId)).map((record) => record.detail)).toMatchObject([
      { on: true },
      { on: false },
    ])
    await expect(setTablet(await signedIn('pollWorker'), { on: true })).rejects.toMatchObject({
      code: 'FORBIDDEN',
    })
  })
})
