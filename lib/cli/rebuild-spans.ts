/** `npm run spans -- check | rebuild`: are the derived certificate spans what the facts and rules say? */
import { ensureDatabaseClient } from './prepare'
import { withDatabase } from './with-database'

ensureDatabaseClient()
const { rebuildSpans } = await import('@/lib/certification/commands')
const { closeDb, db } = await import('@/lib/db/client')

const compareOnly = process.argv[2] !== 'rebuild'
await withDatabase(async () => {
  let changed = 0
  for (const { id } of await db().county.findMany({ select: { id: true }, orderBy: { id: 'asc' } })) {
    const outcome = await rebuildSpans(id, { compareOnly })
    changed += outcome.changed
    console.log(
      `${id}: ${outcome.people} people, ${outcome.changed} rows ${compareOnly ? 'differ' : 'mended'}`,
    )
  }
  await closeDb()
  process.exitCode = compareOnly && changed > 0 ? 1 : 0
})
