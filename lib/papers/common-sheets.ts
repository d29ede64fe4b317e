import type { Content } from 'pdfmake/interfaces'
import { PAPER_INK } from './ink'

/** Sheets that stand in a document many times, like the job aids of each place: laid out once, and kept once in the file.
 *
 *  Method: where a sheet stands, as many pages are laid out as it has, with nothing on them but a line of its own and the
 *  foot. The sheets themselves are laid out after the last page. Before the file is written, their pages are taken out of
 *  the list of pages, and each page that stands for one shows its drawing under its own (a page of a PDF may have
 *  several streams of drawing, and pages may have them in common: ISO 32000-1, 7.7.3.3). */

export interface CommonSheet {
  /** The same key has the same pages, in every document. */
  common: string
  /** One short line at the top of the first page. */
  above: string
  make: () => Content[]
}

export const isCommon = (part: Content | CommonSheet): part is CommonSheet =>
  typeof part === 'object' && 'common' in part

const LINE = 11
/** More letters could take a second line, and lie over the sheet. */
const MOST_LETTERS = 70
const lineOf = (text: string, isFirst = false): Content => ({
  text: text.length > MOST_LETTERS ? `${text.slice(0, MOST_LETTERS - 1)}…` : text || ' ',
  fontSize: LINE,
  color: PAPER_INK.soft,
  ...(isFirst ? {} : { pageBreak: 'before' }),
})

const pagesOf = new Map<string, number>()

/** A page that stands for one of a common sheet; pdfmake writes into its node where it came to lie. */
interface Standing {
  node: Content & { positions?: { pageNumber: number }[] }
  /** Of all pages behind the last one. */
  page: number
}

export interface LaidOut {
  content: Content[]
  standing: Standing[]
  /** Pages behind the last one. */
  behind: number
}

/** The content with stand-ins, and the sheets behind it. `countPages` lays a sheet out alone, once a process. */
export async function withStandIns(
  parts: readonly (Content | CommonSheet)[],
  countPages: (content: Content[]) => Promise<number>,
): Promise<LaidOut> {
  const laid: LaidOut = { content: [], standing: [], behind: 0 }
  const first = new Map<string, number>()
  const sheets: Content[] = []
  for (const part of parts) {
    if (!isCommon(part)) {
      laid.content.push(part)
      continue
    }
    const pages = pagesOf.get(part.common) ?? (await countPages([lineOf('', true), ...part.make()]))
    pagesOf.set(part.common, pages)
    if (!first.has(part.common)) {
      first.set(part.common, laid.behind)
      laid.behind += pages
      sheets.push(lineOf(''), ...part.make())
    }
    for (let n = 0; n < pages; n++) {
      const node = lineOf(n === 0 ? part.above : '', laid.content.length === 0)
      laid.standing.push({ node, page: first.get(part.common)! + n })
      laid.content.push(node)
    }
  }
  laid.content.push(...sheets)
  return laid
}

/** What of the PDF writer's document is touched here. */
interface Ref {
  data: Record<string, unknown>
  write(text: string): void
  end(): void
}
interface Page {
  dictionary: Ref
  content: Ref
  resources: Ref
}
export interface PdfDocument {
  _pageBuffer: Page[]
  _root: { data: { Pages: { data: { Kids: unknown[]; Count: number } } } }
  ref(data: object): Ref
}

/** Lets each standing page show the page that it stands for, and takes the pages behind the last one off. */
export function shareDrawings(document: PdfDocument, { standing, behind }: LaidOut): void {
  if (behind === 0) return
  const pages = document._pageBuffer
  const last = pages.length - behind
  // A page's drawing leaves its own coordinates behind.
  const [keep, back] = ['q', 'Q'].map((operator) => {
    const ref = document.ref({})
    ref.write(operator)
    ref.end()
    return ref
  })
  for (const { node, page } of standing) {
    const own = pages[node.positions![0]!.pageNumber - 1]!
    const common = pages[last + page]!
    own.dictionary.data.Contents = [keep, common.content, back, own.content]
    for (const [kind, named] of Object.entries(common.resources.data))
      if (!Array.isArray(named))
        own.resources.data[kind] = { ...(named as object), ...(own.resources.data[kind] as object) }
  }
  const list = document._root.data.Pages.data
  list.Kids.splice(last)
  list.Count = last
  for (const page of pages.slice(last)) page.dictionary.data = {}
}
