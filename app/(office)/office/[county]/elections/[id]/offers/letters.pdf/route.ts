import { recordLetters } from '@/lib/offers/commands'
import { offerLetters } from '@/lib/offers/letter'
import { LETTERS_A_FILE, listLetters } from '@/lib/offers/queries-letters'
import { pdfResponse, writePdf } from '@/lib/papers/pdf'
import { defineRoute } from '@/lib/web/define-route'

/** The letters of a sending (`?sending=`, in parts where there are many), or the letter of one offer (`?offer=`). */
export const GET = defineRoute<{ county: string; id: string }>(async (actor, { county, id }, request) => {
  const asked = new URL(request.url).searchParams
  const offerId = asked.get('offer')
  const sendingId = asked.get('sending') ?? ''
  const all = await listLetters(actor, county, id, offerId ? { offerId } : { sendingId })
  const part = Math.max(1, Number(asked.get('part')) || 1)
  const letters = all.slice((part - 1) * LETTERS_A_FILE, part * LETTERS_A_FILE)
  if (letters.length === 0)
    return new Response(
      'There are no letters in this part: everybody has answered by now, or has an e-mail.',
      {
        status: 404,
      },
    )
  await recordLetters(actor, {
    electionId: id,
    sendingId: offerId ? null : sendingId,
    letters: letters.length,
  })
  return pdfResponse(`letters-${part}.pdf`, await writePdf(offerLetters(letters, new Date())))
})
