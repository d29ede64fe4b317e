import type { Tx } from '@/lib/db/client'
import { Prisma } from '@/prisma/client/client'

/** The seats of a roster that are filled: one row takes the whole of a seat's shift, or two people share its day. A seat
 *  with one half of its day empty isn't filled. */
export const filledSeats = (rosterId: string | null): Prisma.Sql => Prisma.sql`(
  SELECT g."seatId" AS id FROM "Seating" g JOIN "Seat" x ON x.id = g."seatId"
  WHERE g."rosterId" = ${rosterId}::uuid GROUP BY g."seatId", x.shift
  HAVING x.shift <> 'full' OR (count(g."morningOn") > 0 AND count(g."afternoonOn") > 0))`

export async function countFilled(tx: Tx, rosterId: string): Promise<number> {
  const [row] = await tx.$queryRaw<{ n: number }[]>`SELECT count(*)::int AS n FROM ${filledSeats(rosterId)} f`
  return row!.n
}
