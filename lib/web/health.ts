import { db } from '@/lib/db/client'

/** Does the database answer? For supervisors and balancers. */
export async function isHealthy(): Promise<boolean> {
  try {
    await db().$queryRaw`SELECT 1`
    return true
  } catch {
    return false
  }
}
