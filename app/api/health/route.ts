import { isHealthy } from '@/lib/web/health'

export const dynamic = 'force-dynamic'

/** Open to everybody; says nothing but whether the service works. */
export async function GET(): Promise<Response> {
  const healthy = await isHealthy()
  return Response.json({ healthy }, { status: healthy ? 200 : 503, headers: { 'Cache-Control': 'no-store' } })
}
