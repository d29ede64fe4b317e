import type { Content, TableCell } from 'pdfmake/interfaces'
import { PAPER_INK } from './pdf'

/** Rows of the same look for all papers of the office. They know no domain; they print in grey. */

export const title = (text: string, under?: string): Content => ({
  stack: [
    { text, fontSize: 20, bold: true, lineHeight: 1.1 },
    ...(under ? [{ text: under, fontSize: 11, color: PAPER_INK.soft }] : []),
  ],
  margin: [0, 0, 0, 8],
})

export const heading = (text: string): Content => ({
  text,
  fontSize: 14,
  bold: true,
  color: PAPER_INK.accent,
  margin: [0, 7, 0, 2],
})

export const note = (text: string): Content => ({
  text,
  fontSize: 9.5,
  color: PAPER_INK.soft,
  margin: [0, 4, 0, 4],
})

/** Names beside what they say. */
export const pairs = (
  rows: readonly (readonly [name: string, says: string])[],
  nameWidth = 112,
): Content => ({
  table: {
    widths: [nameWidth, '*'],
    body: rows.map(([name, says]) => [
      { text: name, color: PAPER_INK.soft, fontSize: 10.5, lineHeight: 1.05 },
      { text: says || '—', fontSize: 10.5, lineHeight: 1.05 },
    ]),
  },
  layout: 'noBorders',
  margin: [0, 0, 0, 4],
})

export interface Grid {
  header: readonly string[]
  widths: readonly (number | '*' | 'auto')[]
  rows: readonly (readonly (string | { text: string; bold?: boolean })[])[]
  fontSize?: number
  /** Of cells with several lines. */
  lineHeight?: number
  /** Least height of a row in points, where somebody writes by hand. */
  rowHeight?: number
}

/** A ruled table whose head is repeated on each page; no row is broken over two pages. */
export const grid = ({
  header,
  widths,
  rows,
  fontSize = 10,
  lineHeight = 1.25,
  rowHeight,
}: Grid): Content => ({
  table: {
    headerRows: 1,
    dontBreakRows: true,
    widths: [...widths],
    ...(rowHeight ? { heights: (row: number) => (row === 0 ? 'auto' : rowHeight) } : {}),
    body: [
      header.map(
        (text): TableCell => ({ text, bold: true, fontSize: 9.5, lineHeight, fillColor: PAPER_INK.shade }),
      ),
      ...rows.map((row) =>
        row.map((cell): TableCell => {
          // Where somebody writes by hand there is nothing to measure: a form is mostly that.
          if (cell === '') return { stack: [] }
          return { ...(typeof cell === 'string' ? { text: cell } : cell), fontSize, lineHeight }
        }),
      ),
    ],
  },
  layout: {
    hLineWidth: () => 0.6,
    vLineWidth: () => 0.6,
    hLineColor: () => PAPER_INK.line,
    vLineColor: () => PAPER_INK.line,
    paddingTop: () => 2,
    paddingBottom: () => 2,
  },
  margin: [0, 2, 0, 6],
})

/** Everything on a new sheet. */
export const onNewPage = (content: Content[]): Content => ({ stack: content, pageBreak: 'before' })

/** What stands at the foot of each page: what it is, and which page of how many. */
export const footOf =
  (text: string) =>
  (page: number, pages: number): Content => ({
    columns: [
      { text, width: '*' },
      { text: `${page} / ${pages}`, width: 60, alignment: 'right' },
    ],
    fontSize: 8.5,
    color: PAPER_INK.soft,
    margin: [48, 8, 48, 0],
  })
