import { beforeAll, describe, expect, it } from 'vitest'
import { verifyAllChains } from '@/lib/audit/verify'
import { actorOf } from '@/lib/auth/actor-of'
import { printSignInCard, revokeCards } from '@/lib/auth/cards'
import { LIMITS } from '@/lib/auth/limits'
import { signInByCard } from '@/lib/auth/sign-in-by-card'
import { requestMailCode, signInByMailCode } from '@/lib/auth/sign-in-by-mail-code'
import { db } from '@/lib/db/client'
import { useDatabase } from '@/tests/support/database'
import { eventsOf, makeAccount, makeCounties, makeWorker, meta, signedIn } from './people'

useDatabase()
beforeAll(makeCounties)

const REFUSED = { status: 'refused' }
const minutesLater = (minutes: number) => new Date(Date.now() + minutes * 60_000)

/** The code in the newest message to an address. */
async function mailedCode(email: string): Promise<string> {
  const message = await db().outboxMessage.findFirstOrThrow({
    where: { toAddress: email },
    orderBy: { id: 'desc' },
  })
  return /\d{4} \d{4}/.exec(message.body)![0]
}

describe('by a mailed code', () => {
  it('signs a poll worker in for 30 days, once', async () => {
    const account = await makeAccount('pollWorker')
    expect(await requestMailCode({ email: account.email, locale: 'es' }, meta())).toBeNull()
    const given = { email: account.email, code: (await mailedCode(account.email)).replace(' ', '-') }
    const both = await Promise.all([signInByMailCode(given, meta()), signInByMailCode(given, meta())])
    expect(both.map((answer) => answer.status).sort()).toEqual(['refused', 'signed-in'])
    const [signIn] = await db().signIn.findMany({ where: { accountId: account.id } })
    expect(signIn!.expiresAt.getTime() - signIn!.startedAt.getTime()).toBe(30 * 86_400_000)
    expect(await eventsOf(account.id)).toEqual(['sign-in.code-sent', 'sign-in.started'])
    expect((await db().outboxMessage.findFirstOrThrow({ where: { toAddress: account.email } })).subject).toBe(
      'Su código para entrar',
    )
  })

  it('answers alike and in like time where nobody has that address, and writes nothing', async () => {
    const account = await makeAccount('pollWorker')
    const staff = await makeAccount('countyStaff')
    const before = await db().outboxMessage.count()
    for (const email of ['nobody.at.all@example.org', staff.email, account.email]) {
      const began = performance.now()
      expect(await requestMailCode({ email, locale: 'en' }, meta())).toBeNull()
      expect(performance.now() - began).toBeGreaterThan(245)
    }
    expect(await db().outboxMessage.count()).toBe(before + 1)
    expect(await signInByMailCode({ email: 'nobody.at.all@example.org', code: '1234 5678' }, meta())).toEqual(
      REFUSED,
    )
  })

  it('works for 15 minutes, for its own account, until the next one is asked for', async () => {
    const account = await makeAccount('pollWorker')
    const other = await makeAccount('pollWorker')
    await requestMailCode({ email: account.email, locale: 'en' }, meta())
    const first = await mailedCode(account.email)
    expect(await signInByMailCode({ email: other.email, code: first }, meta())).toEqual(REFUSED)
    expect(
      await signInByMailCode({ email: account.email, code: first }, meta({ at: minutesLater(15.01) })),
    ).toEqual(REFUSED)
    await requestMailCode({ email: account.email, locale: 'en' }, meta())
    expect(await signInByMailCode({ email: account.email, code: first }, meta())).toEqual(REFUSED)
    const second = await mailedCode(account.email)
    expect((await signInByMailCode({ email: account.email, code: second }, meta())).status).toBe('signed-in')
  })

  it('is asked for four times in a quarter of an hour at most, and guessed six times', async () => {
    const account = await makeAccount('pollWorker')
    for (let i = 0; i < LIMITS['mail-send-account'].points; i++)
      expect(await requestMailCode({ email: account.email, locale: 'en' }, meta())).toBeNull()
    expect(await requestMailCode({ email: account.email, locale: 'en' }, meta())).toBeGreaterThan(0)
    const code = await mailedCode(account.email)
    const wrong = code === '0000 0000' ? '1111 1111' : '0000 0000'
    const guesses = Array.from({ length: LIMITS['mail-code-account'].points }, () =>
      signInByMailCode({ email: account.email, code: wrong }, meta()),
    )
    for (const answer of await Promise.all(guesses)) expect(answer).toEqual(REFUSED)
    expect((await signInByMailCode({ email: account.email, code }, meta())).status).toBe('too-many-tries')
  })
})

describe('by card', () => {
  it('signs in again and again, typed in any way, until it is revoked', async () => {
    const staff = await signedIn('trainer')
    const worker = await makeWorker()
    const card = await printSignInCard(staff, worker.id)
    expect(card.locale).toBe('es')
    for (const code of [card.code, card.code.toLowerCase().replace('-', ' ')])
      expect((await signInByCard({ code }, meta())).status).toBe('signed-in')
    const account = await db().account.findUniqueOrThrow({ where: { pollWorkerId: worker.id } })
    const open = await db().signIn.findFirstOrThrow({ where: { accountId: account.id } })
    expect(await actorOf(open.id)).toMatchObject({ pollWorkerId: worker.id })
    expect(await revokeCards(staff, account.id)).toBe(1)
    expect(await actorOf(open.id)).toBeNull()
    expect(await signInByCard({ code: card.code }, meta())).toEqual(REFUSED)
  })

  it('ends with the next card, after its time, and with its account', async () => {
    const staff = await signedIn('countyStaff')
    const worker = await makeWorker()
    const first = await printSignInCard(staff, worker.id)
    const second = await printSignInCard(staff, worker.id)
    expect(await signInByCard({ code: first.code }, meta())).toEqual(REFUSED)
    const late = new Date(Date.now() + 181 * 86_400_000)
    expect(await signInByCard({ code: second.code }, meta({ at: late }))).toEqual(REFUSED)
    await db().account.update({ where: { pollWorkerId: worker.id }, data: { disabledAt: new Date() } })
    expect(await signInByCard({ code: second.code }, meta())).toEqual(REFUSED)
    expect(await signInByCard({ code: 'ZZZZZ-ZZZZZ' }, meta())).toEqual(REFUSED)
  })

  it('opens only the poll worker’s own part of an account that is staff too', async () => {
    const staff = await signedIn('administrator')
    const worker = await makeWorker()
    const { code } = await printSignInCard(staff, worker.id)
    const account = await db().account.findUniqueOrThrow({ where: { pollWorkerId: worker.id } })
    await db().grant.create({ data: { accountId: account.id, access: 'administrator', countyId: 'own' } })
    const answer = await signInByCard({ code }, meta())
    if (answer.status !== 'signed-in') throw new Error(answer.status)
    expect((await actorOf(answer.signIn.signInId))?.grants).toEqual([
      { access: 'pollWorker', countyId: 'own' },
    ])
  })

  it('ends by itself on a shared tablet that lies for half an hour', async () => {
    const staff = await signedIn('trainer')
    const { code } = await printSignInCard(staff, (await makeWorker()).id)
    const answer = await signInByCard({ code }, meta({ sharedTablet: true }))
    if (answer.status !== 'signed-in') throw new Error(answer.status)
    const { signInId } = answer.signIn
    expect(await actorOf(signInId, minutesLater(20))).toMatchObject({ sharedTablet: true })
    // Seen after 20 minutes, so alive until 50.
    expect(await actorOf(signInId, minutesLater(49))).not.toBeNull()
    expect(await actorOf(signInId, minutesLater(80))).toBeNull()
  })

  it('is guessed 15 times from one address at most', async () => {
    const here = meta()
    const guesses = Array.from({ length: LIMITS['card-address'].points }, (_, i) =>
      signInByCard({ code: `AAAAA-AAA${i}` }, here),
    )
    for (const answer of await Promise.all(guesses)) expect(answer).toEqual(REFUSED)
    expect((await signInByCard({ code: 'AAAAA-BBBBB' }, here)).status).toBe('too-many-tries')
  })
})

it('leaves every audit chain whole', async () => {
  for (const verdict of await verifyAllChains(db())) expect(verdict.status).toBe('whole')
})
