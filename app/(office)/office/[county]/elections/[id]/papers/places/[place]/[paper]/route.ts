import { AppError } from '@/lib/kernel/errors'
import { pdfResponse, writePdf } from '@/lib/papers/pdf'
import { recordExport } from '@/lib/roster/commands'
import { PAPERS, type PaperKey, placePaper } from '@/lib/roster/papers/papers'
import { getPlacePacket } from '@/lib/roster/queries-packet'
import { defineRoute } from '@/lib/web/define-route'

const keyOf = (text: string): PaperKey | null =>
  text.endsWith('.pdf') && Object.hasOwn(PAPERS, text.slice(0, -4)) ? (text.slice(0, -4) as PaperKey) : null

/** One paper of one place. */
export const GET = defineRoute<{ county: string; id: string; place: string; paper: string }>(
  async (actor, { county, id, place: placeId, paper }) => {
    const key = keyOf(paper)
    const { ground, place } = await getPlacePacket(actor, county, id, placeId)
    if (!key) throw new AppError('NOT_FOUND', { userMessage: 'There is no such paper.' })
    await recordExport(actor, id, `${key}-pdf`)
    return pdfResponse(
      `${key}-${place.code}-${ground.heldOn}.pdf`,
      await writePdf(placePaper(key, ground, [place])),
    )
  },
)
