import type { Content } from 'pdfmake/interfaces'
import { PAPER_INK } from '@/lib/papers/pdf'
import type { PacketGround, PacketPlace, PacketSeat } from './ground'

const WORDS = {
  en: { worker: 'POLL WORKER' },
  es: { worker: 'TRABAJADOR(A) ELECTORAL' },
}
const ACROSS = 2

/** Name badges, eight a page, cut along the lines (4 by 2¼ inches): one for each person of each place, in their own
 *  language. */
export function badgePages(ground: PacketGround, places: readonly PacketPlace[]): Content[] {
  const badges = places.flatMap((place) => badgesOf(ground, place))
  if (badges.length === 0) return [{ text: 'Nobody is seated yet: there are no badges to print.' }]
  const rows = Array.from({ length: Math.ceil(badges.length / ACROSS) }, (_, i) => {
    const row = badges.slice(i * ACROSS, i * ACROSS + ACROSS)
    return row.length === ACROSS ? row : [...row, { text: '' }]
  })
  return [
    {
      table: { dontBreakRows: true, widths: ['*', '*'], heights: 158, body: rows as never },
      layout: {
        hLineWidth: () => 0.5,
        vLineWidth: () => 0.5,
        hLineColor: () => PAPER_INK.line,
        vLineColor: () => PAPER_INK.line,
        hLineStyle: () => ({ dash: { length: 4, space: 4 } }),
        vLineStyle: () => ({ dash: { length: 4, space: 4 } }),
        paddingLeft: () => 12,
        paddingRight: () => 12,
        paddingTop: () => 12,
        paddingBottom: () => 0,
      },
    },
  ]
}

/** One for each person, with their first position there. */
function badgesOf(ground: PacketGround, place: PacketPlace): Content[] {
  const first = new Map<string, PacketSeat>()
  for (const seat of place.seats)
    if (seat.person && !first.has(seat.person.id)) first.set(seat.person.id, seat)
  return [...first.values()].map((seat): Content => {
    const { name, locale } = seat.person!
    return {
      stack: [
        { text: WORDS[locale].worker, fontSize: 10, color: PAPER_INK.accent },
        // A long name gets smaller letters, so that every badge has the same size.
        { text: name, bold: true, fontSize: Math.max(13, Math.min(25, 520 / name.length)), lineHeight: 1.05 },
        { text: seat.positionName[locale], fontSize: 16, margin: [0, 4, 0, 8] },
        { text: `${place.code} ${place.name}`, fontSize: 10 },
        { text: `${ground.countyName} · ${ground.electionName}`, fontSize: 9, color: PAPER_INK.soft },
      ],
    }
  })
}
