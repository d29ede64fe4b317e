/** `npm run audit`: walks every audit chain and prints one verdict a line. Exit 1 where one is broken; the line names
 *  its first broken link. */
import { ensureDatabaseClient } from './prepare'
import { withDatabase } from './with-database'

ensureDatabaseClient()
const { verifyAllChains } = await import('@/lib/audit/verify')
const { closeDb, db } = await import('@/lib/db/client')

await withDatabase(async () => {
  const verdicts = await verifyAllChains(db())
  for (const verdict of verdicts)
    console.log(
      verdict.status === 'whole'
        ? `whole   ${verdict.chain}: ${verdict.links} links`
        : `BROKEN  ${verdict.chain}: link ${verdict.sequence}: ${verdict.why}`,
    )
  if (verdicts.length === 0) console.log('There are no audit records yet.')
  process.exitCode = verdicts.every((verdict) => verdict.status === 'whole') ? 0 : 1
  await closeDb()
})
