import type { Prisma } from '@/prisma/client/client'
import type { Tx } from './client'

/** Rows in one statement: a few megabytes of JSON. The rows travel as one JSON value, which takes a tenth of the time
 *  of a parameter for each value. */
const BATCH = 5000

const quoted = (columns: readonly string[]) => columns.map((column) => `"${column}"`)

/** Inserts rows that all have the same columns; the others get their defaults. */
export async function insertRows(tx: Tx, table: Prisma.ModelName, rows: readonly object[]): Promise<void> {
  if (rows.length === 0) return
  const columns = quoted(Object.keys(rows[0]!)).join(', ')
  const statement = `INSERT INTO "${table}" (${columns})
    SELECT ${columns} FROM jsonb_populate_recordset(NULL::"${table}", $1::jsonb)`
  for (let i = 0; i < rows.length; i += BATCH)
    await tx.$executeRawUnsafe(statement, JSON.stringify(rows.slice(i, i + BATCH)))
}

/** Sets the same columns of many rows, found by their ids. */
export async function updateRows(
  tx: Tx,
  table: Prisma.ModelName,
  rows: readonly ({ id: string } & object)[],
): Promise<void> {
  if (rows.length === 0) return
  const sets = quoted(Object.keys(rows[0]!).filter((column) => column !== 'id')).map((c) => `${c} = n.${c}`)
  const statement = `UPDATE "${table}" t SET ${sets.join(', ')}
    FROM jsonb_populate_recordset(NULL::"${table}", $1::jsonb) n WHERE t.id = n.id`
  for (let i = 0; i < rows.length; i += BATCH)
    await tx.$executeRawUnsafe(statement, JSON.stringify(rows.slice(i, i + BATCH)))
}
