import path from 'node:path'
import pdfmake from 'pdfmake'
import type { Content, TDocumentDefinitions } from 'pdfmake/interfaces'
import { type CommonSheet, type PdfDocument, shareDrawings, withStandIns } from './common-sheets'
import { PAPER_INK } from './ink'

export { PAPER_INK }

/** Atkinson Hyperlegible Next 2.001 (SIL Open Font License, fonts/OFL.txt), in files because PDF writers read TrueType
 *  and the web package holds none. Latin letters with their accents; no Vietnamese, no other scripts. */
const font = (file: string) => path.join(process.cwd(), 'lib/papers/fonts', file)
const FONTS = {
  normal: font('regular.ttf'),
  italics: font('regular.ttf'),
  bold: font('bold.ttf'),
  bolditalics: font('bold.ttf'),
}

let ready = false
function prepare(): void {
  if (ready) return
  pdfmake.setFonts({ Atkinson: FONTS })
  // Nothing is ever fetched or read for a document but our own fonts.
  pdfmake.setUrlAccessPolicy(() => false)
  pdfmake.setLocalAccessPolicy((file) => Object.values(FONTS).includes(file))
  ready = true
}

export interface Paper {
  title: string
  /** What the document is about, in its properties. */
  subject: string
  language: 'en' | 'es'
  content: readonly (Content | CommonSheet)[]
  pageSize?: TDocumentDefinitions['pageSize']
  pageOrientation?: TDocumentDefinitions['pageOrientation']
  pageMargins?: TDocumentDefinitions['pageMargins']
  background?: TDocumentDefinitions['background']
  footer?: (page: number, pages: number) => Content
  madeAt: Date
  /** Is told the number of pages. */
  told?: (pages: number) => void
}

/** Writes a PDF with our letters and ink. US Letter by default; sizes in points (1/72 inch). */
export async function writePdf(paper: Paper): Promise<Buffer> {
  const { title, subject, language, madeAt, content, footer, told, ...layout } = paper
  const create = (content: Content[], rest: Partial<TDocumentDefinitions> = {}) => {
    prepare()
    return pdfmake.createPdf(
      {
        pageSize: 'LETTER',
        ...layout,
        ...rest,
        content,
        defaultStyle: { font: 'Atkinson', fontSize: 12, lineHeight: 1.25, color: PAPER_INK.text },
      },
      { bufferPages: true },
    )
  }
  const document = async (pdf: ReturnType<typeof create>) => (await pdf.getStream()) as unknown as PdfDocument
  const laid = await withStandIns(
    content,
    async (sheet) => (await document(create(sheet)))._pageBuffer.length,
  )
  const pdf = create(laid.content, {
    ...(footer && {
      footer: (page, pages) => (page > pages - laid.behind ? '' : footer(page, pages - laid.behind)),
    }),
    info: {
      title,
      subject,
      creationDate: madeAt,
      producer: 'Poll worker readiness',
      creator: 'Poll worker readiness',
    },
    language: language === 'es' ? 'es-US' : 'en-US',
    displayTitle: true,
  })
  const written = await document(pdf)
  shareDrawings(written, laid)
  told?.(written._root.data.Pages.data.Count)
  return pdf.getBuffer()
}

/** The answer to a download: never kept in caches, since papers hold names. */
export const pdfResponse = (fileName: string, pdf: Buffer): Response =>
  new Response(new Uint8Array(pdf), {
    headers: {
      'Content-Type': 'application/pdf',
      'Content-Disposition': `inline; filename="${fileName.replace(/[^A-Za-z0-9._-]+/g, '-')}"`,
      'Cache-Control': 'no-store',
    },
  })
