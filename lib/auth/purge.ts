import { db } from '@/lib/db/client'

const DAY_MS = 86_400_000
const SIGN_IN_DAYS = 90
const CODE_DAYS = 30

/** Removes what is kept no longer (schema.prisma says how long): sign-ins 90 days after their end, codes 30 days
 *  after theirs, expired rate limits. For a daily job; the audit chain stays. Returns how many rows went. */
export async function purgeSignIns(at: Date): Promise<number> {
  const before = (days: number) => new Date(at.getTime() - days * DAY_MS)
  const [signIns, codes, limits] = await Promise.all([
    db().signIn.deleteMany({
      where: { OR: [{ endedAt: { lt: before(SIGN_IN_DAYS) } }, { expiresAt: { lt: before(SIGN_IN_DAYS) } }] },
    }),
    db().signInCode.deleteMany({ where: { expiresAt: { lt: before(CODE_DAYS) } } }),
    db().rateLimit.deleteMany({ where: { expire: { lt: at } } }),
  ])
  return signIns.count + codes.count + limits.count
}
