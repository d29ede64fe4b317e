import { findStatusList } from '@/lib/certification/queries-keys'
import { publicAnswer } from '@/lib/web/public-answer'

type Context = { params: Promise<{ county: string; list: string }> }

/** The signed list of revoked certificates. Five minutes in caches: a revocation is seen soon. */
export async function GET(request: Request, { params }: Context): Promise<Response> {
  const { county, list } = await params
  const found = /^[1-9]\d{0,6}$/.test(list) ? await findStatusList(county, Number(list)) : null
  return publicAnswer(request, found, { type: 'application/vc+jwt', maxAgeSeconds: 300 })
}
