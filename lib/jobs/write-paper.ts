import { type LetterToPrint, offerLetters } from '@/lib/offers/letter'
import { writePdf } from '@/lib/papers/pdf'
import type { PacketGround } from '@/lib/roster/papers/ground'
import { type PaperPart, paperOfPart } from '@/lib/roster/papers/part'

/** What one file of papers is made of. */
export type PaperWork =
  | { ground: PacketGround; part: PaperPart }
  | { letters: readonly LetterToPrint[]; madeAt: Date }

export interface WrittenPaper {
  content: Uint8Array<ArrayBuffer>
  pages: number
}

export async function writePaper(work: PaperWork): Promise<WrittenPaper> {
  const paper =
    'letters' in work ? offerLetters(work.letters, work.madeAt) : paperOfPart(work.ground, work.part)
  let pages = 0
  const told = (n: number) => {
    pages = n
  }
  return { content: new Uint8Array(await writePdf({ ...paper, told })), pages }
}
