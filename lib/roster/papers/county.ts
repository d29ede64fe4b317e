import type { Content } from 'pdfmake/interfaces'
import { dateInWords } from '@/lib/kernel/date-words'
import { grid, heading, note, onNewPage, pairs, title } from '@/lib/papers/kit'
import { SHIFT_WORDS } from '../words'
import type { PacketGround, PacketPlace } from './ground'
import { mapPicture } from './map'
import { officeLine, seatName } from './sheets'

const WIDTH = 516
const MOST_ON_STANDBY = 400

/** The county on paper: places, leads, empty seats, map, everybody by place, and who is ready to step in. With it and a
 *  telephone the morning can be run. */
export function countySheets(ground: PacketGround, crewsOf: readonly PacketPlace[]): Content[] {
  const seats = ground.places.flatMap((p) => p.seats)
  const all = new Set(seats.map((s) => s.seatId)).size
  // A seat with one half of its day empty isn't filled.
  const empty = new Set(seats.filter((s) => !s.person).map((s) => s.seatId)).size
  const map = mapPicture(ground.places, null, { width: WIDTH, height: 560 })
  return [
    title(
      `${ground.countyName}: packet for the morning`,
      `${ground.electionName}, ${dateInWords(ground.heldOn, 'en')}`,
    ),
    pairs([
      ['Election office', officeLine(ground)],
      ['Emergency', '911'],
      ['Places', String(ground.places.length)],
      ['Seats', `${all - empty} of ${all} filled, ${empty} empty or half empty`],
      ['Roster', rosterText(ground)],
    ]),
    note(
      'If every computer is down: call the leads in the order below, note who has come, and fill empty seats from the standby list. The county’s continuity plan comes first where it says otherwise.',
    ),
    heading('Places and leads'),
    grid({
      header: ['Place', 'Address', 'Lead', 'Empty', 'Opened at'],
      widths: [120, '*', 140, 74, 50],
      fontSize: 9,
      rows: ground.places.map((place) => {
        const leads = place.seats.filter((s) => s.seatId === place.seats[0]!.seatId)
        const missing = place.seats.filter((s) => !s.person)
        return [
          `${place.code} ${place.name}`,
          place.address,
          leads.length === 0
            ? { text: 'EMPTY', bold: true }
            : {
                text: leads
                  .map(
                    ({ person, shift }) =>
                      `${leads.length > 1 ? `${SHIFT_WORDS[shift]}: ` : ''}${person ? [person.name, person.phone ?? ''].filter(Boolean).join('\n') : 'EMPTY'}`,
                  )
                  .join('\n'),
                bold: leads.some((s) => !s.person),
              },
          missing.length > 3 ? `${missing.length} seats` : missing.map(seatName).join('\n'),
          '',
        ]
      }),
    }),
    ...(map ? [onNewPage([heading('Map of the places'), map])] : []),
    ...(crewsOf.length > 0
      ? [onNewPage(everybodyByPlace(crewsOf))]
      : [note('Everybody by place stands in files of their own.')]),
    onNewPage([
      heading('Standby: certified for that day, free, and seated nowhere'),
      ground.standby.length === 0
        ? note('Nobody.')
        : grid({
            header: ['Name', 'Phone', 'May work as', 'Languages'],
            widths: ['*', 92, 190, 70],
            fontSize: 9,
            rows: ground.standby
              .slice(0, MOST_ON_STANDBY)
              .map((p) => [
                p.name,
                p.phone ?? '',
                `${p.positions.join(', ')}${p.shift === 'full' ? '' : ` (${SHIFT_WORDS[p.shift]} only)`}`,
                p.languages.join(', '),
              ]),
          }),
      ...(ground.standby.length > MOST_ON_STANDBY
        ? [note(`The first ${MOST_ON_STANDBY} of ${ground.standby.length}.`)]
        : []),
    ]),
  ]
}

export const everybodyByPlace = (places: readonly PacketPlace[]): Content[] => [
  heading('Everybody by place'),
  grid({
    header: ['Place', 'Day', 'Position', 'Name', 'Phone', 'Here'],
    widths: [44, 34, 120, '*', 92, 30],
    fontSize: 8.5,
    rows: places.flatMap((place) =>
      place.seats.map((seat) => [
        place.code,
        seat.servesOn.slice(5),
        seatName(seat),
        seat.person?.name ?? { text: 'EMPTY', bold: true },
        seat.person?.phone ?? '',
        '',
      ]),
    ),
  }),
]

export const rosterText = (ground: PacketGround): string =>
  `version ${ground.version}${ground.published ? '' : ` (DRAFT, ${ground.revision} changes)`}, printed ${ground.printedOn}`
