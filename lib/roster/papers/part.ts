import type { Paper } from '@/lib/papers/pdf'
import type { PacketGround } from './ground'
import { countyPaper, everybodyPaper, placePaper } from './papers'

/** One file of a county's packet. */
export interface PaperPart {
  kind: 'county' | 'everybody' | 'packet' | 'badges'
  /** Of `county`: whose crews stand in it, too; the others have files of their own. */
  placeIds: string[]
}

export function paperOfPart(ground: PacketGround, part: PaperPart): Paper {
  const wanted = new Set(part.placeIds)
  const places = ground.places.filter((p) => wanted.has(p.id))
  if (part.kind === 'county') return countyPaper(ground, places)
  return part.kind === 'everybody' ? everybodyPaper(ground, places) : placePaper(part.kind, ground, places)
}
