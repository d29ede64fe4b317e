import { ActionForm } from '@/app/ui/action-form'
import type { BoardSeat } from '@/lib/roster/queries'
import type { MoveOption, Moving } from '@/lib/roster/queries-move'
import { travelChangeText } from '@/lib/roster/words'
import { moveAction } from './actions'
import { Against } from './seats/[seat]/picker'

/** While somebody is being moved: who, from where, and, when a seat was chosen by dropping them on it, what that does. */
export const MovePanel = ({
  moving,
  dropped,
  cancelHref,
  back,
}: {
  moving: Moving
  dropped: MoveOption | null
  cancelHref: string
  back: string
}) => (
  <section className="panel moving" id="move" aria-labelledby="move-name" tabIndex={-1}>
    <h2 id="move-name">
      Moving {moving.person.name} from {moving.seat.text}
    </h2>
    {dropped ? (
      <>
        <Consequences moving={moving} option={dropped} />
        <div className="row">
          {dropped.way !== 'no' && <MoveForm moving={moving} option={dropped} back={back} main />}
          <a className="button" href={cancelHref}>
            Leave everybody where they are
          </a>
        </div>
      </>
    ) : (
      <>
        <p>
          Choose a seat below: each says what the move would do. The filter and the map bring up other places.
        </p>
        <p>
          <a className="button" href={cancelHref}>
            Leave {moving.person.name} where they are
          </a>
        </p>
      </>
    )}
  </section>
)

/** What moving to this seat would do, and the button. */
export const MoveHere = ({
  moving,
  option,
  seat,
  back,
}: {
  moving: Moving
  option: MoveOption
  seat: BoardSeat
  back: string
}) => (
  <div className="move-here" data-way={option.way}>
    <Consequences moving={moving} option={option} />
    {option.way !== 'no' && (
      <MoveForm
        moving={moving}
        option={option}
        back={back}
        label={`${option.way === 'put' ? 'Move here' : 'Change seats'}: ${seat.positionName}${option.other ? `, ${option.other}` : ''}`}
      />
    )}
  </div>
)

const Consequences = ({ moving, option }: { moving: Moving; option: MoveOption }) =>
  option.way === 'no' ? (
    <p>
      <b>Not allowed.</b> {option.refusals.join(' ')}
    </p>
  ) : (
    <>
      <p>
        {travelChangeText(option.changeKm)}{' '}
        {option.way === 'swap'
          ? `${option.other} goes to ${moving.seat.text}.`
          : `Leaves ${moving.seat.text} empty${
              moving.seat.lead
                ? ', a lead seat'
                : moving.seat.legalMinimum
                  ? ', part of the legal minimum crew'
                  : ''
            }.`}
      </p>
      <Against of={option} />
    </>
  )

const MoveForm = ({
  moving,
  option,
  back,
  label,
  main,
}: {
  moving: Moving
  option: MoveOption
  back: string
  label?: string
  main?: boolean
}) => (
  <ActionForm action={moveAction}>
    <input type="hidden" name="countyId" value={moving.head.countyId} />
    <input type="hidden" name="electionId" value={moving.head.id} />
    <input type="hidden" name="expected" value={moving.head.mark} />
    <input type="hidden" name="seatId" value={moving.seat.id} />
    <input type="hidden" name="toSeatId" value={option.seatId} />
    <input type="hidden" name="way" value={option.way} />
    <input type="hidden" name="back" value={back} />
    <button type="submit" aria-label={label} data-kind={main ? 'main' : undefined}>
      {option.way === 'put' ? 'Move here' : 'Change seats'}
    </button>
  </ActionForm>
)
