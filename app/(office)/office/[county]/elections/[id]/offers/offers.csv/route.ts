import { listOfferLines, SHOWS } from '@/lib/offers/queries'
import { csvList, csvResponse } from '@/lib/papers/csv'
import { recordListExport } from '@/lib/record/commands'
import { defineRoute } from '@/lib/web/define-route'
import { STATE_TEXT } from '../words'

/** The offers that the page's filter shows, all pages. */
export const GET = defineRoute<{ county: string; id: string }>(async (actor, { county, id }, request) => {
  const search = new URL(request.url).searchParams
  const { head, lines } = await listOfferLines(actor, county, id, {
    show: SHOWS.find((s) => s === search.get('show')) ?? 'all',
    placeId: search.get('place') || undefined,
    at: search.get('at') || undefined,
    name: search.get('name') ?? undefined,
  })
  await recordListExport(actor, county, 'readRoster', { list: 'offers', rows: lines.length })
  return csvResponse(
    `offers-${county}-${head.heldOn}.csv`,
    csvList(
      [
        { name: 'Name', of: (o) => o.person },
        { name: 'Telephone', of: (o) => o.phone },
        { name: 'Position', of: (o) => o.position },
        { name: 'Place', of: (o) => o.place },
        { name: 'Day', of: (o) => o.servesOn },
        { name: 'Answer', of: (o) => STATE_TEXT[o.state] },
        { name: 'Answer by', of: (o) => o.answerBy },
        { name: 'Asked by', of: (o) => (o.channel === 'mail' ? 'e-mail' : 'letter') },
        { name: 'Letter came back', of: (o) => o.letterReturned },
        { name: 'Calls', of: (o) => o.calls },
      ],
      lines,
    ),
  )
})
