import { parseOptions } from '@node-rs/argon2'
import { Secret, TOTP } from 'otpauth'
import { beforeAll, describe, expect, it } from 'vitest'
import { verifyAllChains } from '@/lib/audit/verify'
import { actorOf } from '@/lib/auth/actor-of'
import { offerAuthenticator } from '@/lib/auth/authenticator'
import { LIMITS } from '@/lib/auth/limits'
import { hashPassword } from '@/lib/auth/passwords'
import { seal, unseal } from '@/lib/auth/secret'
import { signInByAuthenticator, signInByPassword } from '@/lib/auth/sign-in-by-password'
import { closeDb, db } from '@/lib/db/client'
import { useDatabase } from '@/tests/support/database'
import { eventsOf, makeAccount, makeCounties, meta, PASSWORD, signedIn } from './people'

useDatabase()
beforeAll(makeCounties)

const REFUSED = { status: 'refused' }
const minutesLater = (minutes: number) => new Date(Date.now() + minutes * 60_000)

describe('by password', () => {
  it('hashes as OWASP advises for Argon2id', async () => {
    // OWASP Password Storage Cheat Sheet: m=19456 (19 MiB), t=2, p=1. 2 is Argon2id in the package's list.
    expect(parseOptions(await hashPassword('x'))).toMatchObject({
      algorithm: 2,
      memoryCost: 19_456,
      timeCost: 2,
      parallelism: 1,
    })
  })

  it('signs staff in for 12 hours, with an audit record', async () => {
    const account = await makeAccount('countyStaff')
    const at = new Date()
    const answer = await signInByPassword(
      { email: ` ${account.email.toUpperCase()} `, password: PASSWORD },
      meta({ at }),
    )
    if (answer.status !== 'signed-in') throw new Error(answer.status)
    expect(answer.signIn.expiresAt.getTime() - at.getTime()).toBe(12 * 3_600_000)
    expect(await actorOf(answer.signIn.signInId)).toMatchObject({
      accountId: account.id,
      grants: [{ access: 'countyStaff', countyId: 'own' }],
    })
    expect(await eventsOf(account.id)).toEqual(['sign-in.started'])
  })

  it('answers alike for a wrong password, nobody, a disabled account and one without a password', async () => {
    const account = await makeAccount('countyStaff')
    const disabled = await makeAccount('countyStaff')
    await db().account.update({ where: { id: disabled.id }, data: { disabledAt: new Date() } })
    const worker = await makeAccount('pollWorker')
    const took: number[] = []
    for (const [email, password] of [
      [account.email, 'not the password'],
      ['nobody@example.org', PASSWORD],
      [disabled.email, PASSWORD],
      [worker.email, PASSWORD],
    ] as const) {
      const began = performance.now()
      expect(await signInByPassword({ email, password }, meta())).toEqual(REFUSED)
      took.push(performance.now() - began)
    }
    // None is answered before the floor of a quarter of a second, however little there was to do.
    expect(Math.min(...took)).toBeGreaterThan(245)
    expect(
      await db().signIn.count({ where: { accountId: { in: [account.id, disabled.id, worker.id] } } }),
    ).toBe(0)
  })

  it('stops after too many tries, also in a new process, and only for that person from that place', async () => {
    const account = await makeAccount('countyStaff')
    const here = meta()
    const wrong = { email: account.email, password: 'not the password' }
    const answers = await Promise.all(
      Array.from({ length: LIMITS['password-from-here'].points + 3 }, () => signInByPassword(wrong, here)),
    )
    // Tries at the same moment all count: exactly three are too many.
    expect(answers.filter((answer) => answer.status === 'too-many-tries')).toHaveLength(3)
    await closeDb() // a restart: the pool and every limiter are made anew
    const right = { email: account.email, password: PASSWORD }
    const stopped = await signInByPassword(right, here)
    expect(stopped).toMatchObject({ status: 'too-many-tries' })
    if (stopped.status === 'too-many-tries') {
      expect(stopped.waitSeconds).toBeGreaterThan(0)
      expect(stopped.waitSeconds).toBeLessThanOrEqual(LIMITS['password-from-here'].seconds)
    }
    expect((await signInByPassword(right, meta())).status).toBe('signed-in')
    const keys = await db().rateLimit.findMany()
    expect(JSON.stringify(keys)).not.toContain('@')
  })

  it('gives the tries back after a success', async () => {
    const account = await makeAccount('trainer')
    const used = async () => (await db().rateLimit.aggregate({ _sum: { points: true } }))._sum.points
    const before = await used()
    await signInByPassword({ email: account.email, password: PASSWORD }, meta())
    expect(await used()).toBe(before)
  })
})

describe('with an authenticator', () => {
  const withAuthenticator = async () => {
    const account = await makeAccount('administrator')
    const secret = new Secret({ size: 20 })
    await db().account.update({
      where: { id: account.id },
      data: { totpSecret: seal(secret.base32, account.id), totpConfirmedAt: new Date() },
    })
    return { ...account, codeAt: (at: Date) => TOTP.generate({ secret, timestamp: at.getTime() }) }
  }

  it('asks for the code after the password, and takes each code once', async () => {
    const account = await withAuthenticator()
    const at = new Date()
    expect(await signInByPassword({ email: account.email, password: PASSWORD }, meta())).toEqual({
      status: 'authenticator-needed',
      accountId: account.id,
    })
    const code = account.codeAt(at)
    const both = await Promise.all([
      signInByAuthenticator({ accountId: account.id, code }, meta({ at })),
      signInByAuthenticator({ accountId: account.id, code }, meta({ at })),
    ])
    expect(both.map((answer) => answer.status).sort()).toEqual(['refused', 'signed-in'])
    expect(await signInByAuthenticator({ accountId: account.id, code }, meta({ at }))).toEqual(REFUSED)
    // An older code of the window is refused after a newer one, too.
    const before = account.codeAt(new Date(at.getTime() - 30_000))
    expect(await signInByAuthenticator({ accountId: account.id, code: before }, meta({ at }))).toEqual(
      REFUSED,
    )
    const later = minutesLater(1)
    const next = account.codeAt(later)
    expect(
      (await signInByAuthenticator({ accountId: account.id, code: next }, meta({ at: later }))).status,
    ).toBe('signed-in')
  })

  it('can’t be replaced by whoever only knows the password', async () => {
    const account = await withAuthenticator()
    const row = await db().account.findUniqueOrThrow({ where: { id: account.id } })
    const offer = offerAuthenticator(row)
    const code = TOTP.generate({ secret: Secret.fromBase32(offer.secret) })
    expect(
      await signInByAuthenticator({ accountId: account.id, code, sealed: offer.sealed }, meta()),
    ).toEqual(REFUSED)
    expect((await db().account.findUniqueOrThrow({ where: { id: account.id } })).totpSecret).toBe(
      row.totpSecret,
    )
  })

  it('is set up at sign-in where the county requires it, and stored sealed', async () => {
    await db().county.create({
      data: {
        id: 'strict',
        stateId: 'state',
        name: 'strict',
        timeZone: 'America/Chicago',
        equipmentProfile: 'paper',
        settings: { staffAuthenticatorRequired: true },
      },
    })
    const account = await makeAccount('countyStaff', 'strict')
    expect(await signInByPassword({ email: account.email, password: PASSWORD }, meta())).toEqual({
      status: 'authenticator-to-set-up',
      accountId: account.id,
    })
    // The state office reaches this county as well.
    const state = await makeAccount('administrator', null)
    expect((await signInByPassword({ email: state.email, password: PASSWORD }, meta())).status).toBe(
      'authenticator-to-set-up',
    )
    const row = await db().account.findUniqueOrThrow({ where: { id: account.id } })
    const offer = offerAuthenticator(row)
    const wrong = { accountId: account.id, code: '000000', sealed: offer.sealed }
    expect(await signInByAuthenticator(wrong, meta())).toEqual(REFUSED)
    expect((await db().account.findUniqueOrThrow({ where: { id: account.id } })).totpSecret).toBeNull()
    const code = TOTP.generate({ secret: Secret.fromBase32(offer.secret) })
    expect((await signInByAuthenticator({ ...wrong, code }, meta())).status).toBe('signed-in')
    const stored = (await db().account.findUniqueOrThrow({ where: { id: account.id } })).totpSecret as string
    expect(stored).not.toContain(offer.secret)
    expect(unseal(stored, account.id)).toBe(offer.secret)
    expect(() => unseal(stored, state.id)).toThrow()
    expect(await eventsOf(account.id)).toEqual(['account.authenticator-set', 'sign-in.started'])
    await db().county.update({ where: { id: 'strict' }, data: { settings: {} } })
  })
})

describe('a sign-in', () => {
  it('is unknown where its id is no id, and "last seen" is written once a minute', async () => {
    expect(await actorOf("' OR 1=1 --")).toBeNull()
    expect(await actorOf('01890000-0000-7000-8000-000000000000')).toBeNull()
    const actor = await signedIn('trainer')
    const seen = async () =>
      (await db().signIn.findUniqueOrThrow({ where: { id: actor.signInId } })).lastSeenAt.getTime()
    const first = await seen()
    await actorOf(actor.signInId, new Date(first + 59_000))
    expect(await seen()).toBe(first)
    await actorOf(actor.signInId, new Date(first + 61_000))
    expect(await seen()).toBe(first + 61_000)
  })

  it('leaves every audit chain whole', async () => {
    for (const verdict of await verifyAllChains(db())) expect(verdict.status).toBe('whole')
  })
})
