import type { Content } from 'pdfmake/interfaces'
import { dateInWords } from '@/lib/kernel/date-words'
import type { CivilDate } from '@/lib/kernel/dates'
import type { Locale } from '@/lib/kernel/wording'
import { PAPER_INK, type Paper } from '@/lib/papers/pdf'
import { signInAddress } from './link'
import type { OfferSettings } from './schema'

export interface LetterToPrint {
  locale: Locale
  name: string
  familyName: string
  /** Null: not known, or not for whoever prints it; the letter is addressed by hand. */
  address: string | null
  link: string
  answerBy: CivilDate
  electionName: string
  seats: string[]
  countyName: string
  settings: OfferSettings
}

const WORDS = {
  en: {
    title: 'Will you work at the polls?',
    thanks: 'Thank you for helping voters. We would like you to work here:',
    answer: (by: string) => `Please answer by ${by}.`,
    ways: 'There are three ways to answer:',
    scan: 'Point your phone’s camera at the square and open the link. You need no password. You also see the map, whom to call and what to know about the equipment.',
    sign: (at: string) => `Or sign in with your card at ${at} and choose “My work at the polls”.`,
    call: (phone: string, hours: string) =>
      phone ? `Or call us: ${phone}${hours ? ` (${hours})` : ''}.` : 'Or call the election office.',
    slip: 'Or tick a box, cut here and send this slip to the election office:',
    yes: 'Yes, I will work there.',
    no: 'No, I can’t.',
    other: 'I would like another place. Please call me.',
    private:
      'Whoever has this letter can answer for you. Keep it, or call us if it was opened by somebody else.',
  },
  es: {
    title: '¿Trabajará en las elecciones?',
    thanks: 'Gracias por ayudar a los votantes. Nos gustaría que usted trabajara aquí:',
    answer: (by: string) => `Responda a más tardar el ${by}.`,
    ways: 'Hay tres maneras de responder:',
    scan: 'Apunte la cámara del teléfono al cuadro y abra el enlace. No necesita contraseña. Allí también verá el mapa, a quién llamar y lo que debe saber del equipo.',
    sign: (at: string) => `O entre con su tarjeta en ${at} y elija «Mi trabajo en las elecciones».`,
    call: (phone: string, hours: string) =>
      phone ? `O llámenos: ${phone}${hours ? ` (${hours})` : ''}.` : 'O llame a la oficina electoral.',
    slip: 'O marque una casilla, corte aquí y envíe este talón a la oficina electoral:',
    yes: 'Sí, trabajaré allí.',
    no: 'No puedo.',
    other: 'Quisiera otro lugar. Llámenme, por favor.',
    private:
      'Quien tenga esta carta puede responder por usted. Guárdela, o llámenos si otra persona la abrió.',
  },
}

const BOX = `<svg viewBox="0 0 12 12"><rect x="1" y="1" width="10" height="10" fill="none" stroke="${PAPER_INK.text}" stroke-width="1.2"/></svg>`

const box = (text: string): Content => ({
  columns: [
    { svg: BOX, width: 13 },
    { text, margin: [6, 0, 0, 0] },
  ],
  margin: [0, 3, 0, 0],
})

function letter(of: LetterToPrint, isFirst: boolean): Content {
  const words = WORDS[of.locale]
  const { officePhone, officeHours } = of.settings
  return {
    stack: [
      { text: of.countyName, fontSize: 13, bold: true },
      { text: of.electionName, color: PAPER_INK.soft },
      // Where a window envelope shows it: about 2 inches from the top.
      {
        text: [of.name, of.address?.replace(', ', '\n') ?? ''].join('\n'),
        margin: [0, 34, 0, 34],
        lineHeight: 1.15,
      },
      { text: words.title, fontSize: 20, bold: true, color: PAPER_INK.accent },
      { text: of.locale === 'es' ? `${of.name}:` : `Dear ${of.name},`, margin: [0, 10, 0, 4] },
      { text: words.thanks },
      ...of.seats.map((line): Content => ({ text: line, bold: true, fontSize: 13, margin: [14, 6, 0, 2] })),
      { text: words.answer(dateInWords(of.answerBy, of.locale)), bold: true, margin: [0, 10, 0, 6] },
      {
        columns: [
          {
            width: '*',
            stack: [
              { text: words.ways },
              {
                ol: [words.scan, words.sign(signInAddress()), words.call(officePhone, officeHours)],
                margin: [0, 4, 0, 0],
              },
              { text: words.private, fontSize: 10, color: PAPER_INK.soft, margin: [0, 8, 0, 0] },
            ],
          },
          { width: 140, qr: of.link, fit: 130, eccLevel: 'M', alignment: 'right', foreground: '#000000' },
        ],
        columnGap: 18,
      },
      {
        stack: [
          {
            canvas: [
              {
                type: 'line',
                x1: 0,
                y1: 0,
                x2: 484,
                y2: 0,
                dash: { length: 4 },
                lineWidth: 0.8,
                lineColor: PAPER_INK.line,
              },
            ],
          },
          { text: words.slip, fontSize: 10, color: PAPER_INK.soft, margin: [0, 4, 0, 2] },
          { text: `${of.name} · ${of.electionName}`, bold: true },
          box(words.yes),
          box(words.no),
          box(words.other),
        ],
        margin: [0, 22, 0, 0],
        unbreakable: true,
      },
    ],
    ...(isFirst ? {} : { pageBreak: 'before' as const }),
  }
}

/** All letters in one document, each on a page of its own, each in its person's language. */
export const offerLetters = (letters: readonly LetterToPrint[], madeAt: Date): Paper => ({
  title: 'Letters: offers',
  subject: `${letters.length} letters`,
  language: letters[0]?.locale ?? 'en',
  madeAt,
  pageMargins: [64, 54, 64, 44],
  content: letters.map((one, i) => letter(one, i === 0)),
})

/** Letters in one file: what an office printer takes in one go. */
export const LETTERS_A_FILE = 500

/** The files of many letters, in their order. Those without an address (it is protected, or not known) have files of
 *  their own: somebody addresses them by hand. */
export function letterParts(
  letters: readonly LetterToPrint[],
): { name: string; title: string; letters: LetterToPrint[] }[] {
  const parts = (own: LetterToPrint[], name: string, title: string) =>
    Array.from({ length: Math.ceil(own.length / LETTERS_A_FILE) }, (_, i) => {
      const part = own.slice(i * LETTERS_A_FILE, (i + 1) * LETTERS_A_FILE)
      const first = i * LETTERS_A_FILE + 1
      const last = i * LETTERS_A_FILE + part.length
      const span = (from: unknown, to: unknown) => (from === to ? `${from}` : `${from} to ${to}`)
      return {
        name: `${name}-${first}-${last}.pdf`,
        title: `${title} ${span(first, last)}: ${span(part[0]!.familyName, part.at(-1)!.familyName)}`,
        letters: part,
      }
    })
  return [
    ...parts(
      letters.filter((letter) => letter.address !== null),
      'letters',
      'Letters',
    ),
    ...parts(
      letters.filter((letter) => letter.address === null),
      'letters-without-address',
      'Letters without an address (protected, or not known)',
    ),
  ]
}
