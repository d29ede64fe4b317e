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
