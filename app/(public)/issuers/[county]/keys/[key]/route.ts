import { findPublicKey } from '@/lib/certification/queries-keys'
import { publicAnswer } from '@/lib/web/public-answer'

type Context = { params: Promise<{ county: string; key: string }> }

export async function GET(request: Request, { params }: Context): Promise<Response> {
  const { county, key } = await params
  const found = await findPublicKey(county, key)
  return publicAnswer(request, found && JSON.stringify(found), {
    type: 'application/jwk+json',
    maxAgeSeconds: 300,
  })
}
