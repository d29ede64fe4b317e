import {
  claimPapers,
  endPapers,
  finishPapers,
  keepPaperFile,
  reportPapers,
} from '@/lib/roster/commands-papers'
import type { PacketGround, PacketPlace } from '@/lib/roster/papers/ground'
import { type PaperPart, type WrittenPart, writePart } from '@/lib/roster/papers/write-part'
import { loadPacketGround } from '@/lib/roster/queries-packet'
import { log } from '@/lib/web/log'
import { runInThread } from './thread'

const BEAT_MS = 2000
const ENTRY = new URL('./papers-entry.ts', import.meta.url)
/** Places in one file: what an office printer takes in one go, and what a PDF writer holds in memory. */
const PLACES_A_FILE = 25
/** More rows in one table take memory (the process stood at 0.8 GB after one of 1,000 places). */
const CREW_PLACES_A_FILE = 500
const BADGE_PLACES_A_FILE = 150

interface Part extends PaperPart {
  name: string
  title: string
}

/** Makes a county's packet: the county's own part, the packets of the places, the badges; each file in a thread of its
 *  own, so that memory is given back between them. Stopped or failed, it leaves no files. A second delivery of the same
 *  job does nothing. `withoutThreads` is for tests. */
export async function makePapers(orderId: string, hooks: { withoutThreads?: boolean } = {}): Promise<void> {
  const order = await claimPapers(orderId)
  if (!order) return
  const abort = new AbortController()
  const progress = { stage: 'reading', share: 0.02 }
  const beat = setInterval(() => {
    reportPapers(orderId, { ...progress })
      .then((goOn) => goOn || abort.abort())
      .catch((error: unknown) => log.warn({ err: error }, 'a packet could not report'))
  }, BEAT_MS)
  try {
    const ground = await loadPacketGround(order.electionId)
    const parts = partsOf(ground)
    for (const [i, part] of parts.entries()) {
      Object.assign(progress, {
        stage: `${part.title} (file ${i + 1} of ${parts.length})`,
        share: 0.02 + (0.97 * i) / parts.length,
      })
      if (!(await reportPapers(orderId, progress))) return await endPapers(orderId, { status: 'cancelled' })
      const written = hooks.withoutThreads
        ? await writePart(ground, part)
        : await runInThread<WrittenPart, never>(
            ENTRY,
            { ground: groundOf(ground, part), part },
            { signal: abort.signal, onProgress: () => {}, graceMs: 0 },
          )
      const { name, title } = part
      await keepPaperFile(orderId, { number: i + 1, name, title, ...written })
    }
    if (!(await finishPapers(orderId))) await endPapers(orderId, { status: 'cancelled' })
  } catch (error) {
    if (abort.signal.aborted) return await endPapers(orderId, { status: 'cancelled' })
    log.error({ orderId, err: error }, 'a packet failed')
    await endPapers(orderId, {
      status: 'failed',
      failure: `The packet could not be made. Ask for it again; if it goes on, tell your administrator this number: ${orderId.slice(0, 8)}`,
    })
  } finally {
    clearInterval(beat)
  }
}

/** What a file is made of is copied into its thread: of other places only where they are. */
function groundOf(ground: PacketGround, part: Part): PacketGround {
  if (part.kind === 'county') return ground
  const own = new Set(part.placeIds)
  const empty = { hours: [], devices: [], precincts: [], seats: [] }
  return {
    ...ground,
    standby: [],
    places: ground.places.map((place) => (own.has(place.id) ? place : { ...place, ...empty })),
  }
}

function partsOf(ground: PacketGround): Part[] {
  const volumes = (places: PacketPlace[], size: number) =>
    Array.from({ length: Math.ceil(places.length / size) }, (_, i) => places.slice(i * size, i * size + size))
  const range = (places: PacketPlace[]) => `${places[0]!.code}–${places.at(-1)!.code}`
  const ids = (places: PacketPlace[]) => places.map((p) => p.id)
  const file = (name: string, places?: PacketPlace[]) =>
    `${name}${places ? `-${range(places).replace('–', '-')}` : ''}-${ground.heldOn}.pdf`
  const small = ground.places.length <= CREW_PLACES_A_FILE
  return [
    {
      kind: 'county',
      placeIds: small ? ids(ground.places) : [],
      name: file('county'),
      title: small ? 'The county: leads, map, everybody, standby' : 'The county: leads, map, standby',
    },
    ...(small ? [] : volumes(ground.places, CREW_PLACES_A_FILE)).map(
      (places): Part => ({
        kind: 'everybody',
        placeIds: ids(places),
        name: file('everybody', places),
        title: `Everybody at the places ${range(places)}`,
      }),
    ),
    ...volumes(ground.places, PLACES_A_FILE).map(
      (places): Part => ({
        kind: 'packet',
        placeIds: ids(places),
        name: file('places', places),
        title: `Packets of the places ${range(places)}`,
      }),
    ),
    ...volumes(ground.places, BADGE_PLACES_A_FILE).map(
      (places): Part => ({
        kind: 'badges',
        placeIds: ids(places),
        name: file('badges', places),
        title: `Name badges of the places ${range(places)}`,
      }),
    ),
  ]
}
