/** A thread that writes one file of a county's packet (see thread.ts). */
import { parentPort, workerData } from 'node:worker_threads'
import { writePdf } from '@/lib/papers/pdf'
import type { PacketGround } from '@/lib/roster/papers/ground'
import { countyPaper, placePaper } from '@/lib/roster/papers/papers'

export interface PaperPart {
  kind: 'county' | 'packet' | 'badges'
  placeIds: string[]
}
export interface WrittenPart {
  content: Uint8Array<ArrayBuffer>
  pages: number
}

const send = (message: object) => parentPort!.postMessage(message)
try {
  const { ground, part } = workerData as { ground: PacketGround; part: PaperPart }
  send({ kind: 'result', result: await writePart(ground, part) })
} catch (error) {
  const { name, message } = error as Error
  send({ kind: 'failed', name, message })
}

async function writePart(ground: PacketGround, part: PaperPart): Promise<WrittenPart> {
  let pages = 0
  const told = (n: number) => {
    pages = n
  }
  const wanted = new Set(part.placeIds)
  const places = ground.places.filter((p) => wanted.has(p.id))
  const paper =
    part.kind === 'county' ? countyPaper(ground, told) : placePaper(part.kind, ground, places, told)
  return { content: new Uint8Array(await writePdf(paper)), pages }
}
