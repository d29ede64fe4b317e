import { findIssuerProfile } from '@/lib/certification/queries-keys'
import { publicAnswer } from '@/lib/web/public-answer'

type Context = { params: Promise<{ county: string }> }

export async function GET(request: Request, { params }: Context): Promise<Response> {
  const profile = await findIssuerProfile((await params).county)
  return publicAnswer(request, profile && JSON.stringify(profile), {
    type: 'application/json',
    maxAgeSeconds: 3600,
  })
}
