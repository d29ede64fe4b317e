import { exportOwnRecord } from '@/lib/record/commands'
import { defineRoute } from '@/lib/web/define-route'

/** Everything that is kept about the person who is signed in, for machines. */
export const GET = defineRoute(async (actor) => {
  const record = await exportOwnRecord(actor, 'json')
  return new Response(`${JSON.stringify(record, null, 2)}\n`, {
    headers: {
      'Content-Type': 'application/json',
      'Content-Disposition': `attachment; filename="everything-about-me-${record.madeAt.slice(0, 10)}.json"`,
      'Cache-Control': 'no-store',
    },
  })
})
