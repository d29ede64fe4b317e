import type { Content } from 'pdfmake/interfaces'
import { PAPER_INK, writePdf } from './pdf'

/** One letter of a mail merge. */
export interface LetterText {
  locale: 'en' | 'es'
  office: string
  name: string
  /** Null: not shown to whoever prints; somebody else addresses it. */
  address: string | null
  date: string
  subject: string
  /** Plain text: paragraphs between empty lines, list lines begin with a dash. */
  body: string
}

/** Where the address shows in the left window of a US No. 10 envelope when a Letter page is folded in three: from 7/8
 *  inch to 5 1/8 inches across and 2 to 3 inches down (common practice; check it with your own envelopes). */
const WINDOW = { x: 66, y: 150 }
const MARGINS: [number, number, number, number] = [66, 56, 66, 56]
const BODY_FROM = 250

const addressLines = (letter: LetterText): string[] => [
  letter.name,
  ...(letter.address === null
    ? [letter.locale === 'es' ? '(dirección protegida)' : '(protected address: an administrator fills it in)']
    : letter.address.split(/\s*[,\n]\s*/)),
]

function bodyOf(text: string): Content[] {
  return text.split(/\n\s*\n/).map((part): Content => {
    const lines = part.split('\n').map((line) => line.trim())
    if (lines.every((line) => line.startsWith('- ')))
      return { ul: lines.map((line) => line.slice(2)), margin: [0, 0, 0, 10] }
    return { text: lines.join('\n'), margin: [0, 0, 0, 10] }
  })
}

/** Letters as one PDF, a new page for each, in large print (13 points). */
export async function lettersPdf(letters: readonly LetterText[], madeAt: Date): Promise<Buffer> {
  const content = letters.flatMap((letter, i): Content[] => [
    {
      text: letter.office,
      bold: true,
      fontSize: 14,
      color: PAPER_INK.accent,
      ...(i > 0 ? { pageBreak: 'before' as const } : {}),
    },
    { text: addressLines(letter).join('\n'), absolutePosition: WINDOW, fontSize: 12 },
    { text: letter.date, margin: [0, BODY_FROM - MARGINS[1] - 40, 0, 14], color: PAPER_INK.soft },
    { text: letter.subject, bold: true, fontSize: 15, margin: [0, 0, 0, 12] },
    { stack: bodyOf(letter.body), fontSize: 13 },
  ])
  return writePdf({
    title: 'Letters',
    subject: 'Reminders',
    language: letters[0]?.locale ?? 'en',
    pageMargins: MARGINS,
    content: content.length > 0 ? content : [{ text: 'No letters.' }],
    madeAt,
  })
}
