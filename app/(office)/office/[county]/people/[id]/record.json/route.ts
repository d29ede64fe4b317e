import { exportRecordOf } from '@/lib/record/commands'
import { defineRoute } from '@/lib/web/define-route'

/** Everything that is kept about a person, when they ask the office for it. */
export const GET = defineRoute<{ county: string; id: string }>(async (actor, { county, id }) => {
  const record = await exportRecordOf(actor, county, id)
  return new Response(`${JSON.stringify(record, null, 2)}\n`, {
    headers: {
      'Content-Type': 'application/json',
      'Content-Disposition': `attachment; filename="everything-about-a-person-${record.madeAt.slice(0, 10)}.json"`,
      'Cache-Control': 'no-store',
    },
  })
})
