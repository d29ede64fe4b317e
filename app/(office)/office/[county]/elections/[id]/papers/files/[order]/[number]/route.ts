import { pdfResponse } from '@/lib/papers/pdf'
import { recordPaperDownload } from '@/lib/roster/commands-papers'
import { getPaperFile } from '@/lib/roster/queries-packet'
import { defineRoute } from '@/lib/web/define-route'

/** One file of the county's packet. */
export const GET = defineRoute<{ county: string; id: string; order: string; number: string }>(
  async (actor, { county, id, order, number }) => {
    const file = await getPaperFile(actor, county, id, order, Number(number))
    await recordPaperDownload(actor, id, { orderId: order, number: Number(number) })
    return pdfResponse(file.name, Buffer.from(file.content))
  },
)
