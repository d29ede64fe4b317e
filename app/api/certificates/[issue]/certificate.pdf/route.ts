import { certificatePaper } from '@/lib/certification/paper'
import { getIssueOrThrow } from '@/lib/certification/queries-certificates'
import { pdfResponse, writePdf } from '@/lib/papers/pdf'
import { defineRoute } from '@/lib/web/define-route'
import { preferences } from '@/lib/web/preferences'

/** The printed certificate, in the language asked for (`?language=es`), else the reader's own. */
export const GET = defineRoute<{ issue: string }>(async (actor, { issue }, request) => {
  const found = await getIssueOrThrow(actor, issue)
  const asked = new URL(request.url).searchParams.get('language')
  const language = asked === 'en' || asked === 'es' ? asked : (await preferences()).locale
  return pdfResponse(`certificate-${found.serial}.pdf`, await writePdf(certificatePaper(found, language)))
})
