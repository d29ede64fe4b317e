import type { Content } from 'pdfmake/interfaces'
import { dateInWords, lastDayInWords } from '@/lib/kernel/date-words'
import { civilDateAt } from '@/lib/kernel/dates'
import { PAPER_INK, type Paper } from '@/lib/papers/pdf'
import { verifyAddress } from './addresses'
import type { IssueSummary } from './queries-certificates'

const WORDS = {
  en: {
    title: 'Certificate',
    says: 'This certifies that',
    may: 'has completed what this county asks for, and may work at the polls as',
    from: 'Valid from',
    through: 'Valid through',
    noEnd: 'no end date',
    number: 'Number',
    issued: (date: string) => `Issued on ${date} by the election office.`,
    scan: 'Is it still valid? Point a phone’s camera at the code, or type the number at',
    note: 'The page that the code opens counts, not this paper: a certificate can be renewed or revoked after it was printed. It gives no authority beyond what state law and the county’s procedures give.',
  },
  es: {
    title: 'Certificado',
    says: 'Se certifica que',
    may: 'ha cumplido lo que pide este condado y puede trabajar en un lugar de votación como',
    from: 'Válido desde',
    through: 'Válido hasta',
    noEnd: 'sin fecha de fin',
    number: 'Número',
    issued: (date: string) => `Emitido el ${date} por la oficina electoral.`,
    scan: '¿Sigue siendo válido? Apunte la cámara de un teléfono al código, o escriba el número en',
    note: 'Cuenta la página que abre el código, no este papel: un certificado puede renovarse o revocarse después de imprimirse. No da más autoridad que la que dan la ley estatal y los procedimientos del condado.',
  },
}

/** Landscape US Letter, in points. */
const WIDTH = 792
const HEIGHT = 612

/** Our own frame: a heavy rule with one open corner, the loop of the mark in it. Drawn in lines, so grey ink does. */
const frame: Content = {
  canvas: [
    {
      type: 'rect',
      x: 26,
      y: 26,
      w: WIDTH - 52,
      h: HEIGHT - 52,
      r: 10,
      lineWidth: 2.5,
      lineColor: PAPER_INK.accent,
    },
    {
      type: 'rect',
      x: 33,
      y: 33,
      w: WIDTH - 66,
      h: HEIGHT - 66,
      r: 6,
      lineWidth: 0.6,
      lineColor: PAPER_INK.line,
    },
  ],
}

const MARK = `<svg viewBox="0 0 32 32"><path d="M27 16a11 11 0 1 1-4-8.5" fill="none" stroke="${PAPER_INK.accent}" stroke-width="3.4" stroke-linecap="round"/><path d="M22 2.8l2 5.6-5.8 1z" fill="${PAPER_INK.accent}"/><rect x="12" y="10.5" width="8" height="11" rx="1.6" fill="${PAPER_INK.text}"/><path d="M14.2 14h3.6M14.2 17h3.6" stroke="#ffffff" stroke-width="1.3"/></svg>`

const pair = (label: string, text: string): Content => ({
  stack: [
    { text: label, fontSize: 11, color: PAPER_INK.soft },
    { text, fontSize: 16, bold: true },
  ],
})

/** A long name or position gets smaller letters in the same room, so that everything below stays in its place. */
function line(text: string, largest: number): Content {
  const size = Math.max(20, Math.min(largest, (largest * 26) / text.length))
  const room = (largest - size) * 0.6
  return { text, fontSize: size, bold: true, lineHeight: 1.1, margin: [0, room, 0, room] }
}

/** A certificate as it is printed: who, for what, where, from when until when, its number, and a code that opens the page
 *  that says whether it still counts. Prints in grey. */
export function certificatePaper(issue: IssueSummary, language: 'en' | 'es'): Paper {
  const words = WORDS[language]
  const address = verifyAddress(issue.serial)
  const role = issue.roleName[language]
  const issuedOn = civilDateAt(issue.issuedAt, issue.timeZone)
  return {
    title: `${words.title} ${issue.serial}`,
    subject: `${issue.serial} ${issue.roleName.en}`,
    language,
    madeAt: issue.issuedAt,
    pageOrientation: 'landscape',
    pageMargins: [64, 56, 64, 48],
    background: () => frame,
    content: [
      {
        columns: [
          { svg: MARK, width: 44 },
          {
            width: '*',
            stack: [
              { text: issue.countyName, fontSize: 17, bold: true, lineHeight: 1.1 },
              { text: words.title.toUpperCase(), fontSize: 12, characterSpacing: 3, color: PAPER_INK.accent },
            ],
            margin: [12, 4, 0, 0],
          },
        ],
      },
      { text: words.says, fontSize: 14, color: PAPER_INK.soft, margin: [0, 32, 0, 2] },
      line(issue.holderName, 42),
      { text: words.may, fontSize: 14, color: PAPER_INK.soft, margin: [0, 12, 0, 2] },
      { ...(line(role, 32) as object), color: PAPER_INK.accent } as Content,
      {
        columns: [
          {
            width: '*',
            stack: [
              {
                columns: [
                  pair(words.from, dateInWords(issue.validFrom, language)),
                  pair(
                    words.through,
                    issue.validUntil ? lastDayInWords(issue.validUntil, language) : words.noEnd,
                  ),
                ],
                columnGap: 16,
              },
              { ...(pair(words.number, issue.serial) as object), margin: [0, 14, 0, 14] } as Content,
              { text: words.issued(dateInWords(issuedOn, language)), fontSize: 12 },
              { text: words.note, fontSize: 11, color: PAPER_INK.soft, margin: [0, 8, 0, 0] },
            ],
          },
          {
            width: 210,
            stack: [
              { qr: address, fit: 150, eccLevel: 'M', alignment: 'center', foreground: '#000000' },
              { text: words.scan, fontSize: 11, alignment: 'center', margin: [0, 8, 0, 0] },
              { text: verifyAddress('').replace(/\/$/, ''), fontSize: 11, bold: true, alignment: 'center' },
            ],
          },
        ],
        columnGap: 28,
        margin: [0, 30, 0, 0],
      },
    ],
  }
}
