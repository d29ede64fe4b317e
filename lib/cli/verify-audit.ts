/** `node --import tsx lib/cli/verify-audit.ts`: walks every audit chain and prints one verdict a line.
 *  Exit 1 where one is broken; the line names its first broken link. Uses DATABASE_URL, else the running embedded
 *  server of DATA_DIR. */
import path from 'node:path'
import { verifyAllChains } from '@/lib/audit/verify'
import { closeDb, db } from '@/lib/db/client'
import { startCluster } from '@/lib/db/embedded'
import { dataFolder, env, setEnv } from '@/lib/env'

let stop = async () => {}
if (!env().DATABASE_URL) {
  const cluster = await startCluster(path.join(dataFolder(), 'pg'))
  setEnv({ DATABASE_URL: cluster.url })
  // A server that was running before is somebody else's to stop.
  if (cluster.started) stop = cluster.stop
}
try {
  const verdicts = await verifyAllChains(db())
  for (const verdict of verdicts)
    console.log(
      verdict.status === 'whole'
        ? `whole   ${verdict.chain}: ${verdict.links} links`
        : `BROKEN  ${verdict.chain}: link ${verdict.sequence}: ${verdict.why}`,
    )
  if (verdicts.length === 0) console.log('There are no audit records yet.')
  process.exitCode = verdicts.every((verdict) => verdict.status === 'whole') ? 0 : 1
} finally {
  await closeDb()
  await stop()
}
