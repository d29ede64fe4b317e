/** `npm run spans -- check | rebuild`: are the derived certificate spans what the facts and rules say? */
import { rebuildSpans } from '@/lib/certification/commands'
import { closeDb, db } from '@/lib/db/client'

const compareOnly = process.argv[2] !== 'rebuild'
let changed = 0
for (const { id } of await db().county.findMany({ select: { id: true }, orderBy: { id: 'asc' } })) {
  const outcome = await rebuildSpans(id, { compareOnly })
  changed += outcome.changed
  console.log(`${id}: ${outcome.people} people, ${outcome.changed} rows ${compareOnly ? 'differ' : 'mended'}`)
}
await closeDb()
process.exitCode = compareOnly && changed > 0 ? 1 : 0
