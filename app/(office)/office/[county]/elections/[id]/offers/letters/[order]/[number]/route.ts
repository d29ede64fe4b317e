import { getLetterFile } from '@/lib/offers/queries-letters'
import { pdfResponse } from '@/lib/papers/pdf'
import { recordPaperDownload } from '@/lib/roster/commands-papers'
import { defineRoute } from '@/lib/web/define-route'

/** One file of the letters of a sending. */
export const GET = defineRoute<{ county: string; id: string; order: string; number: string }>(
  async (actor, { county, id, order, number }) => {
    const { name, content, sendingId } = await getLetterFile(actor, county, id, order, Number(number))
    await recordPaperDownload(actor, id, { orderId: order, sendingId, number: Number(number) })
    return pdfResponse(name, Buffer.from(content))
  },
)
