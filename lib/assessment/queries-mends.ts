import type { Tx } from '@/lib/db/client'
import type { Mend, MendedQuestion } from './core/mend'

/** What a county mended in a quiz's questions; marking takes it into account. */
export async function mendsOf(tx: Tx, countyId: string, quizKey: string): Promise<MendedQuestion[]> {
  const rows = await tx.remark.findMany({
    where: { countyId, quizKey },
    select: { questionId: true, questionVersion: true, mend: true },
  })
  return rows.map((row) => ({ ...row, mend: row.mend as unknown as Mend }))
}

/** Everybody of a county is marked by the same mends: whoever hands in shares this lock, a re-mark holds it alone. Until
 *  the transaction ends. */
export async function lockMarking(tx: Tx, countyId: string, how: 'shared' | 'alone'): Promise<void> {
  const key = `marking ${countyId}`
  if (how === 'alone') await tx.$executeRaw`SELECT pg_advisory_xact_lock(hashtext(${key}))`
  else await tx.$executeRaw`SELECT pg_advisory_xact_lock_shared(hashtext(${key}))`
}
