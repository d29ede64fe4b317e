import type { Content } from 'pdfmake/interfaces'
import { dateInWords } from '@/lib/kernel/date-words'
import type { Locale } from '@/lib/kernel/wording'
import type { CommonSheet } from '@/lib/papers/common-sheets'
import { grid, heading, note, onNewPage, pairs, title } from '@/lib/papers/kit'
import { PAPER_INK } from '@/lib/papers/pdf'
import { allJobAidsOn, equipmentName } from '@/lib/scenarios/job-aids'
import type { PacketGround, PacketPlace, PacketSeat } from './ground'
import { mapPicture, nearest } from './map'

/** The sheets of one polling place. Each begins on a page of its own. What the whole crew uses is in both languages; job
 *  aids are in English, and in Spanish too where somebody of the crew is written to in Spanish. */

const SHIFT = { full: '', morning: ', morning', afternoon: ', afternoon' } as Record<string, string>
const SHIFT_ES = { full: '', morning: ', mañana', afternoon: ', tarde' } as Record<string, string>
const CREW_WIDTH = 516
/** Names in two languages on one line. */
const BOTH_WIDTH = 172

export const seatName = (seat: PacketSeat): string =>
  `${seat.positionName.en}${seat.number > 1 ? ` ${seat.number}` : ''}${SHIFT[seat.shift] ?? ''}`

const daysOf = (place: PacketPlace) => [...new Set(place.seats.map((s) => s.servesOn))]

const nameOf = (place: PacketPlace) => `${place.code} ${place.name}`

export const headOf = (ground: PacketGround, place: PacketPlace, what: string): Content =>
  title(what, `${nameOf(place)} · ${ground.electionName}, ${dateInWords(ground.heldOn, 'en')}`)

export const officeLine = (ground: PacketGround) =>
  ground.officePhone ?? '______________________ (write the number in)'

/** Where it is, whom to call, who works there with phone numbers, and a map of the nearest places. */
export function placeSheet(ground: PacketGround, place: PacketPlace): Content[] {
  const map = mapPicture(nearest(ground.places, place, 9), place.id, { width: CREW_WIDTH, height: 150 })
  const days = daysOf(place)
  return [
    headOf(ground, place, 'Place sheet · Hoja del lugar'),
    pairs(
      [
        ['Address · Dirección', place.address],
        ['Open to voters · Abierto', place.hours.join('; ')],
        ...(place.seats.some((seat) => seat.shift !== 'full')
          ? [['Halves change over · Cambio de turno', ground.changeAt] as [string, string]]
          : []),
        ['Precincts · Distritos', place.precincts.join(', ')],
        ['Equipment · Equipo', equipmentText(place)],
        ['Keys · Llaves', place.keysNote],
      ],
      BOTH_WIDTH,
    ),
    heading('Whom to call · A quién llamar'),
    pairs(
      [
        ['Election office · Oficina electoral', officeLine(ground)],
        ['At this place · En este lugar', [place.contactName, place.contactPhone].filter(Boolean).join(', ')],
        ['Emergency · Emergencia', '911'],
      ],
      BOTH_WIDTH,
    ),
    heading('Crew · Equipo de trabajo'),
    grid({
      header: [
        ...(days.length > 1 ? ['Day · Día'] : []),
        'Position · Puesto',
        'Name · Nombre',
        'Phone · Teléfono',
      ],
      widths: [...(days.length > 1 ? [62] : []), 150, '*', 110],
      rows: place.seats.map((seat) => [
        ...(days.length > 1 ? [seat.servesOn.slice(5)] : []),
        positionFor(seat),
        seat.person ? seat.person.name : { text: 'EMPTY · VACÍO', bold: true },
        seat.person?.phone ?? '',
      ]),
    }),
    note(
      'Phone numbers are personal: this sheet is for the people of this crew and the election office only. · Los números de teléfono son personales: esta hoja es solo para este equipo y la oficina electoral.',
    ),
    ...(map
      ? [
          {
            unbreakable: true,
            stack: [heading('Map of the nearest places · Mapa de los lugares más cercanos'), map],
          },
        ]
      : []),
  ]
}

const KINDS: Record<string, [en: string, es: string]> = {
  checkIn: ['check-in', 'registro'],
  ballotStation: ['ballot station', 'estación de votación'],
  scanner: ['scanner', 'escáner'],
}

/** Devices by kind, with the equipment they are of named once. */
const equipmentText = (place: PacketPlace): string =>
  [...new Set(place.devices.map((d) => d.profile))]
    .map((profile) => {
      const own = place.devices.filter((d) => d.profile === profile)
      const counts = own.map((d) => `${d.count} × ${KINDS[d.kind]?.[0] ?? d.kind}`).join(', ')
      return `${counts} (${equipmentName(profile, 'en')})`
    })
    .join('; ') || equipmentName(place.equipmentProfile, 'en')

/** Everybody signs when they come and when they go; in both languages, since everybody does. A sheet a day. */
export const signInSheets = (place: PacketPlace): Content[] =>
  daysOf(place).map((day, i) => {
    const seats = place.seats.filter((s) => s.servesOn === day)
    const blank = Array.from({ length: 3 }, () => ['', '', '', '', '', ''])
    const content: Content[] = [
      title(
        'Sign-in sheet · Hoja de registro',
        `${place.code} ${place.name} · ${dateInWords(day, 'en')} · ${dateInWords(day, 'es')}`,
      ),
      note('Sign when you come and when you go. · Firme al llegar y al irse.'),
      grid({
        header: [
          'Name · Nombre',
          'Position · Puesto',
          'Time in · Llegada',
          'Signature · Firma',
          'Time out · Salida',
          'Signature · Firma',
        ],
        widths: [112, 96, 48, '*', 48, '*'],
        rowHeight: 27,
        rows: [
          ...seats.map((seat) => [seat.person?.name ?? '', positionFor(seat), '', '', '', '']),
          ...blank,
        ],
      }),
      note(
        'Lead · Encargado(a): ____________________________   Date and time · Fecha y hora: ________________',
      ),
    ]
    return i === 0 ? { stack: content } : onNewPage(content)
  })

const positionFor = (seat: PacketSeat): string =>
  seat.person?.locale === 'es'
    ? `${seat.positionName.es}${seat.number > 1 ? ` ${seat.number}` : ''}${SHIFT_ES[seat.shift] ?? ''}`
    : seatName(seat)

/** In the county's two languages: English, and Spanish below it or after a dot. */
const both = (en: string, es: string): string => `${en} · ${es}`

/** Two languages on one page. */
const CLOSE = { fontSize: 9, lineHeight: 0.97 }

/** The figures that must agree in the evening: the same form for all places with as many devices of each kind. */
export function reconciliationForm(ground: PacketGround, place: PacketPlace): CommonSheet {
  const devices =
    place.devices.length > 0
      ? place.devices
      : [
          { kind: 'scanner', count: 1 },
          { kind: 'ballotStation', count: 1 },
        ]
  return {
    common: `reconciliation ${devices.map((d) => `${d.count} ${d.kind}`).join(', ')}`,
    above: nameOf(place),
    make: () => reconciliation(ground, devices),
  }
}

/** Common practice; the county's own form and order of work decide. */
function reconciliation(ground: PacketGround, devices: { kind: string; count: number }[]): Content[] {
  const kinds = devices.flatMap((d) => Array.from({ length: d.count }, (_, i) => [d.kind, i + 1] as const))
  const lines: [letter: string, en: string, es: string][] = [
    ['A', 'Voters checked in (book or tablet)', 'Votantes que se registraron al llegar (libro o tableta)'],
    ['B', 'Provisional ballots handed out', 'Boletas provisionales entregadas'],
    ['C', 'Ballots spoiled and replaced', 'Boletas anuladas y reemplazadas'],
    ['D', 'Ballots handed out in all', 'Boletas entregadas en total'],
    ['E', 'Ballots counted by the scanner(s), at closing', 'Boletas contadas por el escáner, al cierre'],
    [
      'F',
      'Ballots in the emergency (auxiliary) box, not scanned',
      'Boletas en el compartimento auxiliar, sin escanear',
    ],
    ['G', 'Provisional ballots sealed in their envelopes', 'Boletas provisionales selladas en sus sobres'],
    ['H', 'Blank ballots received in the morning', 'Boletas en blanco recibidas en la mañana'],
    ['I', 'Blank ballots left in the evening', 'Boletas en blanco que quedan en la noche'],
  ]
  return [
    title(
      both('Reconciliation form', 'Formulario de conciliación'),
      `${ground.electionName}, ${dateInWords(ground.heldOn, 'en')}`,
    ),
    note(
      both(
        'Common practice: two people of different parties count and sign together. The county’s own form and order of work come first where they differ.',
        'Práctica común: dos personas de partidos distintos cuentan y firman juntas. Si difieren, tienen prioridad el formulario y el orden de trabajo del condado.',
      ),
    ),
    grid({
      header: ['', 'Count · Conteo', 'Number · Número'],
      widths: [24, '*', 110],
      rows: lines.map(([letter, en, es]) => [{ text: letter, bold: true }, `${en}\n${es}`, '']),
      ...CLOSE,
    }),
    grid({
      header: [
        'These should agree\nDeben coincidir',
        'Left\nIzquierda',
        'Right\nDerecha',
        'Difference, and why\nDiferencia y motivo',
      ],
      widths: [236, 50, 50, '*'],
      ...CLOSE,
      rows: [
        ['A = E + F', 'voters and ballots cast', 'votantes y boletas emitidas'],
        ['B = G', 'provisional ballots', 'boletas provisionales'],
        ['D = E + F + C + G', 'all ballots handed out', 'todas las boletas entregadas'],
        ['H = I + D', 'stock of ballots', 'existencias de boletas'],
      ].map(([sum, en, es]) => [`${sum}\n${both(en!, es!)}`, '', '', '']),
    }),
    heading('Devices and seals · Equipos y sellos'),
    grid({
      header: [
        'Device\nEquipo',
        'Seal at opening\nSello al abrir',
        'Counter at opening\nContador al abrir',
        'Counter at closing\nContador al cerrar',
        'Seal at closing\nSello al cerrar',
      ],
      widths: ['*', 74, 88, 86, 74],
      ...CLOSE,
      rowHeight: 17,
      rows: kinds.slice(0, 24).map(([kind, n]) => {
        const [en, es] = KINDS[kind] ?? [kind, kind]
        return [both(`${en} ${n}`, `${es} ${n}`), '', '', '', '']
      }),
    }),
    note(
      'Signed · Firmas: ____________________________   ____________________________   Time · Hora: ____________',
    ),
  ]
}

/** The languages of a place's job aids: English, and what else somebody of its crew is written to in. */
export const languagesOf = (place: PacketPlace): Locale[] => [
  'en',
  ...new Set(place.seats.flatMap((s) => (s.person && s.person.locale !== 'en' ? [s.person.locale] : []))),
]

const AID_WORDS = {
  en: {
    title: 'Job aids',
    note: 'In short, from the lessons. State law and the county’s procedures come first where they differ.',
  },
  es: {
    title: 'Guías de trabajo',
    note: 'En breve, de las lecciones. La ley estatal y los procedimientos del condado tienen prioridad si difieren.',
  },
}

/** The job aids of this place's equipment, two columns of short lists, in one language: the same for all such places. */
export function jobAidSheet(place: PacketPlace, locale: Locale): CommonSheet[] {
  const { equipmentProfile } = place
  if (allJobAidsOn(equipmentProfile, locale).length === 0) return []
  return [
    {
      common: `job-aids ${equipmentProfile} ${locale}`,
      above: nameOf(place),
      make: () => jobAids(equipmentProfile, locale),
    },
  ]
}

function jobAids(profileId: string, locale: Locale): Content[] {
  const aids = allJobAidsOn(profileId, locale)
  const words = AID_WORDS[locale]
  const half = Math.ceil(aids.length / 2)
  const rows = Array.from({ length: half }, (_, i) => aids.slice(i * 2, i * 2 + 2))
  return [
    title(`${words.title}: ${equipmentName(profileId, locale)}`),
    note(words.note),
    ...rows.map(
      (pair): Content => ({
        unbreakable: true,
        columns: [0, 1].map((i) => {
          const aid = pair[i]
          return aid
            ? {
                width: '*',
                stack: [
                  { text: aid.title, bold: true, fontSize: 10.5, color: PAPER_INK.accent },
                  { ol: aid.lines, fontSize: 9.5, lineHeight: 1.15 },
                ],
              }
            : { width: '*', text: '' }
        }),
        columnGap: 18,
        margin: [0, 0, 0, 8],
      }),
    ),
  ]
}
