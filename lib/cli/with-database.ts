import path from 'node:path'
import { startCluster } from '@/lib/db/embedded'
import { dataFolder, env, setEnv } from '@/lib/env'

/** For commands beside the product: the outside database of DATABASE_URL, else the embedded one of DATA_DIR, running or
 *  not; one that was started only for this is stopped again. */
export async function withDatabase<T>(work: (url: string) => Promise<T>): Promise<T> {
  const outside = env().DATABASE_URL
  if (outside) return work(outside)
  const cluster = await startCluster(path.join(dataFolder(), 'pg'))
  setEnv({ DATABASE_URL: cluster.url })
  try {
    return await work(cluster.url)
  } finally {
    await cluster.stop()
  }
}
