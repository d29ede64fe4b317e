import { letterParts } from '@/lib/offers/letter'
import { loadLetters } from '@/lib/offers/queries-letters'
import {
  claimPapers,
  endPapers,
  finishPapers,
  keepPaperFile,
  reportPapers,
} from '@/lib/roster/commands-papers'
import type { PacketGround, PacketPlace } from '@/lib/roster/papers/ground'
import type { PaperPart } from '@/lib/roster/papers/part'
import { loadPacketGround } from '@/lib/roster/queries-packet'
import { log } from '@/lib/web/log'
import { runInThread } from './thread'
import { type PaperWork, type WrittenPaper, writePaper } from './write-paper'

const BEAT_MS = 2000
const ENTRY = new URL('./papers-entry.ts', import.meta.url)
/** A thread takes a second to begin, and gives its memory back when it ends. */
const FILES_A_THREAD = 12
/** Places in one file: what an office printer takes in one go, and what a PDF writer holds in memory. */
const PLACES_A_FILE = 50
/** More rows in one table take memory (the process stood at 0.8 GB after one of 1,000 places). */
const CREW_PLACES_A_FILE = 500
const BADGE_PLACES_A_FILE = 150

interface File {
  name: string
  title: string
  work: PaperWork
}

/** Makes the files of an order: the packet of a county (its own part, the packets of the places, the badges), or the
 *  letters of a sending. Stopped or failed, it leaves no files. A second delivery of the same job does nothing.
 *  `withoutThreads` is for tests. */
export async function makePapers(orderId: string, hooks: { withoutThreads?: boolean } = {}): Promise<void> {
  const order = await claimPapers(orderId)
  if (!order) return
  const abort = new AbortController()
  const progress = { stage: 'reading', share: 0.02 }
  const beat = setInterval(() => {
    reportPapers(orderId, { ...progress })
      .then((goOn) => goOn || abort.abort())
      .catch((error: unknown) => log.warn({ err: error }, 'papers could not report'))
  }, BEAT_MS)
  try {
    const files = order.sendingId
      ? lettersOf(await loadLetters({ sendingId: order.sendingId }))
      : packetOf(await loadPacketGround(order.electionId))
    let made = 0
    const keep = async (written: WrittenPaper) => {
      const { name, title } = files[made]!
      await keepPaperFile(orderId, { number: ++made, name, title, ...written })
      const next = files[made]
      if (next)
        Object.assign(progress, {
          stage: `${next.title} (file ${made + 1} of ${files.length})`,
          share: 0.02 + (0.97 * made) / files.length,
        })
    }
    for (let i = 0; i < files.length; i += FILES_A_THREAD) {
      const works = files.slice(i, i + FILES_A_THREAD).map((file) => file.work)
      if (!(await reportPapers(orderId, progress))) return await endPapers(orderId, { status: 'cancelled' })
      if (hooks.withoutThreads) for (const work of works) await keep(await writePaper(work))
      else await inThread(works, abort.signal, keep)
    }
    if (!(await finishPapers(orderId))) await endPapers(orderId, { status: 'cancelled' })
  } catch (error) {
    if (abort.signal.aborted) return await endPapers(orderId, { status: 'cancelled' })
    log.error({ orderId, err: error }, 'papers failed')
    await endPapers(orderId, {
      status: 'failed',
      failure: `The papers could not be made. Ask for them again; if it goes on, tell your administrator this number: ${orderId.slice(0, 8)}`,
    })
  } finally {
    clearInterval(beat)
  }
}

/** Writes some files in a thread and keeps each as it comes. @throws what keeping one throws */
async function inThread(
  works: PaperWork[],
  signal: AbortSignal,
  keep: (written: WrittenPaper) => Promise<void>,
): Promise<void> {
  let failed: unknown
  let kept = Promise.resolve()
  await runInThread<null, WrittenPaper>(
    ENTRY,
    { works },
    {
      signal,
      onProgress: (written) => {
        kept = kept
          .then(() => keep(written))
          .catch((error: unknown) => {
            failed ??= error
          })
      },
      graceMs: 0,
    },
  ).finally(() => kept)
  if (failed) throw failed
}

const volumes = <T>(all: readonly T[], size: number): T[][] =>
  Array.from({ length: Math.ceil(all.length / size) }, (_, i) => all.slice(i * size, i * size + size))

const lettersOf = (letters: Awaited<ReturnType<typeof loadLetters>>): File[] =>
  letterParts(letters).map(({ letters, ...file }) => ({ ...file, work: { letters, madeAt: new Date() } }))

/** What a file is made of is copied into its thread: of other places only where they are. */
function groundOf(ground: PacketGround, part: PaperPart): PacketGround {
  if (part.kind === 'county') return ground
  const own = new Set(part.placeIds)
  const empty = { hours: [], devices: [], precincts: [], seats: [] }
  return {
    ...ground,
    standby: [],
    places: ground.places.map((place) => (own.has(place.id) ? place : { ...place, ...empty })),
  }
}

function packetOf(ground: PacketGround): File[] {
  const range = (places: PacketPlace[]) => `${places[0]!.code}–${places.at(-1)!.code}`
  const file = (
    kind: PaperPart['kind'],
    places: PacketPlace[],
    words: { name: string; title: string },
  ): File => {
    const part = { kind, placeIds: places.map((p) => p.id) }
    return {
      name: `${words.name}-${ground.heldOn}.pdf`,
      title: words.title,
      // Made when it is asked for: all at once they would hold each place many times.
      get work() {
        return { ground: groundOf(ground, part), part }
      },
    }
  }
  const series = (kind: PaperPart['kind'], name: string, title: string, size: number): File[] =>
    volumes(ground.places, size).map((places) =>
      file(kind, places, {
        name: `${name}-${range(places).replace('–', '-')}`,
        title: `${title} ${range(places)}`,
      }),
    )
  const small = ground.places.length <= CREW_PLACES_A_FILE
  return [
    file('county', small ? ground.places : [], {
      name: 'county',
      title: small ? 'The county: leads, map, everybody, standby' : 'The county: leads, map, standby',
    }),
    ...(small ? [] : series('everybody', 'everybody', 'Everybody at the places', CREW_PLACES_A_FILE)),
    ...series('packet', 'places', 'Packets of the places', PLACES_A_FILE),
    ...series('badges', 'badges', 'Name badges of the places', BADGE_PLACES_A_FILE),
  ]
}
