import { writePdf } from '@/lib/papers/pdf'
import type { PacketGround } from './ground'
import { countyPaper, everybodyPaper, placePaper } from './papers'

/** One file of a county's packet. */
export interface PaperPart {
  kind: 'county' | 'everybody' | 'packet' | 'badges'
  /** Of `county`: whose crews stand in it, too; the others have files of their own. */
  placeIds: string[]
}
export interface WrittenPart {
  content: Uint8Array<ArrayBuffer>
  pages: number
}

export async function writePart(ground: PacketGround, part: PaperPart): Promise<WrittenPart> {
  let pages = 0
  const told = (n: number) => {
    pages = n
  }
  const wanted = new Set(part.placeIds)
  const places = ground.places.filter((p) => wanted.has(p.id))
  const paper =
    part.kind === 'county'
      ? countyPaper(ground, places, told)
      : part.kind === 'everybody'
        ? everybodyPaper(ground, places, told)
        : placePaper(part.kind, ground, places, told)
  return { content: new Uint8Array(await writePdf(paper)), pages }
}
