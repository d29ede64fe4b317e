import type { Content } from 'pdfmake/interfaces'
import { describe, expect, it } from 'vitest'
import { type CommonSheet, isCommon } from '@/lib/papers/common-sheets'
import { footOf, heading, onNewPage } from '@/lib/papers/kit'
import { PAPER_INK, type Paper, writePdf } from '@/lib/papers/pdf'
import { canReadPdf, greyPage, pagesOf, textOf } from '@/tests/support/read-pdf'

const lines = (word: string, n: number): Content[] =>
  Array.from({ length: n }, (_, i) => ({ text: `${word} ${i + 1} ñ`, bold: i % 3 === 0 }))
const sheet = (common: string, above: string, n: number): CommonSheet => ({
  common: `test ${common}`,
  above,
  make: () => [heading(`Sheet ${common}`), { ul: lines(common, n) }],
})

/** Sheets of several pages between pages of other kinds and lengths, one of them once only. */
const PARTS: (Content | CommonSheet)[] = [
  { stack: [heading('First place'), ...lines('own', 60)] },
  sheet('long', 'P001 First place', 80),
  sheet('short', 'P001 First place', 3),
  onNewPage([heading('Second place'), { text: 'A figure', fontSize: 30, opacity: 0.4 }]),
  sheet('long', 'P002 Second place', 80),
  onNewPage([heading('Third place'), ...lines('other', 10)]),
  sheet('once', 'P003 Third place', 50),
  sheet('short', 'P003 Third place', 3),
]

const paper = (content: Paper['content']): Paper => ({
  title: 'Test',
  subject: 'Test',
  language: 'en',
  madeAt: new Date('2028-11-01T00:00:00Z'),
  pageMargins: [48, 44, 48, 48],
  content,
  footer: footOf('the foot'),
})
/** The reference: the same parts one after the other, nothing in common. */
const plainly = PARTS.flatMap((part): Content[] =>
  isCommon(part)
    ? [{ text: part.above, fontSize: 11, color: PAPER_INK.soft, pageBreak: 'before' }, ...part.make()]
    : [part],
)

describe.runIf(canReadPdf)('sheets that a document has in common', () => {
  it('read and look on each page as if they were written there', async () => {
    const [common, plain] = [await writePdf(paper(PARTS)), await writePdf(paper(plainly))]
    const pages = pagesOf(plain)
    expect(pages).toBeGreaterThan(10)
    expect(pagesOf(common)).toBe(pages)
    expect(textOf(common)).toBe(textOf(plain))
    for (let page = 1; page <= pages; page++)
      expect(Buffer.compare(greyPage(common, page).grey, greyPage(plain, page).grey), `page ${page}`).toBe(0)
    expect(common.length).toBeLessThan(plain.length)
  })

  it('cut a line above them that could take a second one', async () => {
    const name = `${'WIDE LETTERS '.repeat(9)}END`
    const pdf = await writePdf(paper([sheet('short', name, 3)]))
    expect(textOf(pdf)).toContain('WIDE LETTERS WIDE…')
    expect(pagesOf(pdf)).toBe(1)
  })
})
