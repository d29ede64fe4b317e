import { z } from 'zod'
import { takeRoomRecords } from '@/lib/classes/commands-room'
import { RoomRecords } from '@/lib/classes/schema'
import { defineRoute } from '@/lib/web/define-route'

const Sent = RoomRecords.extend({ countyId: z.string().min(1).max(100) })

/** What a tablet in the training room kept while it had no connection. Sending it again is harmless. */
export const POST = defineRoute(async (actor, _params, request) => {
  const { countyId, records } = Sent.parse(await request.json())
  return Response.json({ outcomes: await takeRoomRecords(actor, countyId, records) })
})
