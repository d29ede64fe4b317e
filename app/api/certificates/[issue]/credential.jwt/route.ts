import { getCredential } from '@/lib/certification/commands-credential'
import { defineRoute } from '@/lib/web/define-route'

/** The signed certificate as a file. */
export const GET = defineRoute<{ issue: string }>(async (actor, { issue }) => {
  const { serial, credential } = await getCredential(actor, issue)
  return new Response(credential, {
    headers: {
      'Content-Type': 'application/vc+jwt',
      'Content-Disposition': `attachment; filename="certificate-${serial}.jwt"`,
      'Cache-Control': 'no-store',
    },
  })
})
