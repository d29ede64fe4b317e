import { findKeySet } from '@/lib/certification/queries-keys'
import { publicAnswer } from '@/lib/web/public-answer'

type Context = { params: Promise<{ county: string }> }

export async function GET(request: Request, { params }: Context): Promise<Response> {
  const keys = await findKeySet((await params).county)
  return publicAnswer(request, keys && JSON.stringify(keys), {
    type: 'application/jwk-set+json',
    maxAgeSeconds: 300,
  })
}
