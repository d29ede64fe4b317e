import type { BoardPlace, BoardSeat } from '@/lib/roster/queries'
import type { Moving } from '@/lib/roster/queries-move'
import { SHIFT_WORDS } from '@/lib/roster/words'
import { SeatMark, STATE_WORDS } from '../../../../parts/seat-mark'
import { dateText } from '../../../../parts/words'
import { MoveHere } from './move-panel'

/** One place with its crew. Each seat leads to its own page, and, for who may change the roster, to moving its person;
 *  while somebody is being moved, each seat says what the move there would do. */
export const Crew = ({
  place,
  seats,
  base,
  chosen,
  heldOn,
  moveHref,
  moving,
  back,
}: {
  place: BoardPlace
  seats: BoardSeat[]
  base: string
  chosen: boolean
  heldOn: string
  /** Null: the clerk may not change the roster. */
  moveHref: ((seatId: string) => string) | null
  moving: Moving | null
  /** The filter to come back to after a move. */
  back: string
}) => {
  const days = [...new Set(seats.map((seat) => seat.servesOn))]
  return (
    <section
      className="crew"
      id={`place-${place.code}`}
      data-chosen={chosen}
      data-place={place.id}
      aria-labelledby={`name-${place.code}`}
    >
      <h3 id={`name-${place.code}`}>
        {place.code} {place.name}
        <span className="quiet">
          {place.filled} of {place.seats} filled
          {place.filled < place.seats && `, ${place.seats - place.filled} empty`}
        </span>
      </h3>
      {days.map((day) => (
        <div key={day}>
          {(days.length > 1 || day !== heldOn) && <h4>{dateText(day, 'short')}</h4>}
          <ul className="seats">
            {seats
              .filter((seat) => seat.servesOn === day)
              .map((seat) => (
                <SeatCard
                  key={seat.id}
                  seat={seat}
                  href={`${base}/seats/${seat.id}`}
                  moveHref={moveHref && seat.person && seat.state !== 'locked' ? moveHref(seat.id) : null}
                >
                  {moving?.seat.id === seat.id && <p className="why">Being moved from here.</p>}
                  {moving?.options.has(seat.id) && (
                    <MoveHere moving={moving} seat={seat} option={moving.options.get(seat.id)!} back={back} />
                  )}
                </SeatCard>
              ))}
          </ul>
        </div>
      ))}
    </section>
  )
}

const SeatCard = ({
  seat,
  href,
  moveHref,
  children,
}: {
  seat: BoardSeat
  href: string
  moveHref: string | null
  children: React.ReactNode
}) => (
  <li className="seat" data-state={seat.state} data-seat={seat.id} draggable={moveHref ? true : undefined}>
    <a className="seat-main" href={href} draggable={false}>
      <SeatMark state={seat.state} />
      <span>
        <b>
          {seat.positionName}
          {seat.number > 1 && ` ${seat.number}`}
          {seat.shift !== 'full' && `, ${SHIFT_WORDS[seat.shift]}`}
        </b>
        <span className="who">{seat.person?.name ?? STATE_WORDS[seat.state]}</span>
        {(seat.state === 'locked' || seat.state === 'misplaced') && ` (${STATE_WORDS[seat.state]})`}
      </span>
    </a>
    {moveHref && (
      <a className="seat-move" href={moveHref} draggable={false} aria-label={`Move ${seat.person?.name}`}>
        Move
      </a>
    )}
    {seat.reason && <p className="why">{seat.reason}</p>}
    {children}
  </li>
)
