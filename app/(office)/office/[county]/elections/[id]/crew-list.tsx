import type { BoardPlace, BoardSeat } from '@/lib/roster/queries'
import { SHIFT_WORDS } from '@/lib/roster/words'
import { SeatMark, STATE_WORDS } from '../../../../parts/seat-mark'
import { dateText } from '../../../../parts/words'

/** One place with its crew; each seat leads to its own page. */
export const Crew = ({
  place,
  seats,
  base,
  chosen,
  heldOn,
}: {
  place: BoardPlace
  seats: BoardSeat[]
  base: string
  chosen: boolean
  heldOn: string
}) => {
  const days = [...new Set(seats.map((seat) => seat.servesOn))]
  return (
    <section
      className="crew"
      id={`place-${place.code}`}
      data-chosen={chosen}
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
                <li key={seat.id}>
                  <a className="seat" data-state={seat.state} href={`${base}/seats/${seat.id}`}>
                    <SeatMark state={seat.state} />
                    <span>
                      <b>
                        {seat.positionName}
                        {seat.number > 1 && ` ${seat.number}`}
                        {seat.shift !== 'full' && `, ${SHIFT_WORDS[seat.shift]}`}
                      </b>
                      <span className="who">{seat.person?.name ?? STATE_WORDS.empty}</span>
                      {(seat.state === 'locked' || seat.state === 'misplaced') &&
                        ` (${STATE_WORDS[seat.state]})`}
                    </span>
                    {seat.reason && <span className="why">{seat.reason}</span>}
                  </a>
                </li>
              ))}
          </ul>
        </div>
      ))}
    </section>
  )
}
