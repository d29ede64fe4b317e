import { recordLetters } from '@/lib/offers/commands'
import { offerLetters } from '@/lib/offers/letter'
import { getLetter } from '@/lib/offers/queries-letters'
import { pdfResponse, writePdf } from '@/lib/papers/pdf'
import { defineRoute } from '@/lib/web/define-route'

/** The letter of one offer (`?offer=`). Those of a whole sending are made by a job. */
export const GET = defineRoute<{ county: string; id: string }>(async (actor, { county, id }, request) => {
  const offerId = new URL(request.url).searchParams.get('offer') ?? ''
  const letter = await getLetter(actor, county, id, offerId)
  await recordLetters(actor, { electionId: id, sendingId: null, letters: 1 })
  return pdfResponse('letter.pdf', await writePdf(offerLetters([letter], new Date())))
})
