import { TableBox } from '@/app/ui/notice'
import type { BoardPlace, BoardSeat } from '@/lib/roster/queries'
import { PlaceShape, placeState } from './place-map'

const STATE_TEXT = { full: 'full', short: 'some empty', none: 'all empty' }

/** The places of this page as a table, in step with the map: choosing a row chooses the place there too. */
export const PlacesTable = ({
  crews,
  chosenId,
  hrefOf,
}: {
  crews: { place: BoardPlace; seats: BoardSeat[] }[]
  chosenId: string | undefined
  hrefOf: (place: BoardPlace) => string
}) => (
  <TableBox label="Places on this page">
    <table className="places">
      <thead>
        <tr>
          <th scope="col">Place</th>
          <th scope="col" className="number">
            Filled
          </th>
          <th scope="col">Empty</th>
        </tr>
      </thead>
      <tbody>
        {crews.map(({ place, seats }) => {
          const state = placeState(place)
          return (
            <tr key={place.id} data-place={place.id} data-chosen={place.id === chosenId}>
              <th scope="row">
                <svg className="place-mark" viewBox="0 0 24 24" aria-hidden="true" focusable="false">
                  <PlaceShape state={state} x={12} y={12} r={8} />
                </svg>
                <a href={hrefOf(place)} aria-current={place.id === chosenId ? 'true' : undefined}>
                  {place.code} {place.name}
                </a>
              </th>
              <td className="number">
                {place.filled} of {place.seats}
              </td>
              <td>
                {state === 'full' ? <span className="quiet">{STATE_TEXT.full}</span> : emptyWords(seats)}
                {place.misplaced > 0 && <b> {place.misplaced} not allowed</b>}
              </td>
            </tr>
          )
        })}
      </tbody>
    </table>
  </TableBox>
)

/** 'Lead; Check-in × 2' */
function emptyWords(seats: BoardSeat[]): string {
  const of = new Map<string, number>()
  for (const seat of seats)
    if (seat.state === 'empty') of.set(seat.positionName, (of.get(seat.positionName) ?? 0) + 1)
  return [...of].map(([name, n]) => (n === 1 ? name : `${name} × ${n}`)).join('; ')
}

export const PlaceLegend = () => (
  <ul className="legend map">
    {(['full', 'short', 'none'] as const).map((state) => (
      <li key={state}>
        <svg className="place-mark" viewBox="0 0 24 24" aria-hidden="true" focusable="false">
          <PlaceShape state={state} x={12} y={12} r={8} />
        </svg>{' '}
        {STATE_TEXT[state]}
      </li>
    ))}
  </ul>
)
