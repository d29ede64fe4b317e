import { RateLimiterPrisma, RateLimiterRes } from 'rate-limiter-flexible'
import { db } from '@/lib/db/client'
import { hmacHex } from './secret'

/** Tries within a time. Numbers are our own choice; each says what it is for. A training room is one network address
 *  for 40 people, so what works is given back and only failures use a limit up. */
export const LIMITS = {
  /** One person mistypes a few times. */
  'password-from-here': { points: 8, seconds: 15 * 60 },
  /** The same account from many addresses. */
  'password-account': { points: 40, seconds: 3600 },
  'password-address': { points: 60, seconds: 15 * 60 },
  'authenticator-account': { points: 8, seconds: 15 * 60 },
  /** Nobody's mailbox is flooded. */
  'mail-send-account': { points: 4, seconds: 15 * 60 },
  'mail-send-address': { points: 60, seconds: 3600 },
  /** 8 digits, 6 tries in 15 minutes: about 1 in 170,000 a day for an account whose mailbox is asked all day. */
  'mail-code-account': { points: 6, seconds: 15 * 60 },
  'mail-code-address': { points: 60, seconds: 15 * 60 },
  /** A card's code names no person: each guess is a guess at every card at once. So it is limited hard for each
   *  address, and, since addresses are cheap, for the whole installation as well: with 30,000 cards of 50 bits,
   *  3,000 failures an hour find one with a chance of 1 in 1,400 a year (3,000 × 8,760 × 30,000 ÷ 2^50). */
  'card-address': { points: 15, seconds: 10 * 60 },
  'card-all': { points: 3000, seconds: 3600 },
  /** A certificate's number is 60 random bits: 3,000 wrong ones an hour hit one of 150,000 with a chance of 1 in 290,000
   *  a year (3,000 × 8,760 × 150,000 ÷ 2^60). What is found is given back: a whole hall may check its people. */
  'verify-address': { points: 30, seconds: 10 * 60 },
  'verify-all': { points: 3000, seconds: 3600 },
  /** Each costs a signature check. */
  'verify-credential-address': { points: 60, seconds: 10 * 60 },
} as const

export type LimitName = keyof typeof LIMITS

const limiter = (name: LimitName) =>
  new RateLimiterPrisma({
    storeClient: db(),
    tableName: 'rateLimit',
    keyPrefix: name,
    points: LIMITS[name].points,
    duration: LIMITS[name].seconds,
    // Expired rows are removed by the purge job, not by a timer in each process.
    clearExpiredByTimeout: false,
  })

/** Keys are e-mail addresses and network addresses: only their keyed hash is stored. */
const keyOf = (text: string) => hmacHex('rate-limit-key', text)

export type Tries = readonly (readonly [LimitName, string])[]

/** Takes one try from each limit before the work is done, so that tries at the same moment all count.
 *  Null: go on. A number: wait so many seconds. The state is in PostgreSQL and survives a restart. */
export async function takeTries(tries: Tries): Promise<number | null> {
  const results = await Promise.allSettled(tries.map(([name, key]) => limiter(name).consume(keyOf(key))))
  let waitSeconds: number | null = null
  for (const result of results)
    if (result.status === 'rejected') {
      if (!(result.reason instanceof RateLimiterRes)) throw result.reason
      waitSeconds = Math.max(waitSeconds ?? 1, Math.ceil(result.reason.msBeforeNext / 1000))
    }
  return waitSeconds
}

/** Gives the tries back after a success. */
export async function giveBackTries(tries: Tries): Promise<void> {
  await Promise.all(tries.map(([name, key]) => limiter(name).reward(keyOf(key))))
}
