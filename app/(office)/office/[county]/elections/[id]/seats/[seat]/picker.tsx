import { ActionForm } from '@/app/ui/action-form'
import { Tag } from '@/app/ui/notice'
import { milesText } from '@/lib/kernel/miles'
import type { Candidate } from '@/lib/roster/queries-seat'
import { count } from '../../../../../../parts/words'
import { seatPersonAction } from './actions'

/** What every form of a seat sends along: which seat, and which state of the roster the clerk has seen. */
export interface SeatIds {
  countyId: string
  electionId: string
  seatId: string
  expected: string
}

export const HiddenIds = ({ ids }: { ids: SeatIds }) => (
  <>
    {Object.entries(ids).map(([name, value]) => (
      <input key={name} type="hidden" name={name} value={value} />
    ))}
  </>
)

/** What speaks against a change that a clerk may make all the same: the county's crew rules, pairs of people, the county's
 *  wishes. */
export const Against = ({
  of,
}: {
  of: { warnings?: readonly string[]; pairWarnings: readonly string[]; wishWarnings?: readonly string[] }
}) =>
  [
    ...(of.warnings ?? []).map((sentence) => ({ tag: 'against the crew rules', sentence })),
    ...of.pairWarnings.map((sentence) => ({ tag: 'against a pair', sentence })),
    ...(of.wishWarnings ?? []).map((sentence) => ({ tag: 'against a wish', sentence })),
  ].map(({ tag, sentence }) => (
    <p key={sentence} className="small">
      <Tag kind="warn">{tag}</Tag> {sentence}
    </p>
  ))

/** People for a seat: what speaks for each, and one button, or the reason why not. */
export const People = ({
  people,
  ids,
  mayChange,
}: {
  people: Candidate[]
  ids: SeatIds
  mayChange: boolean
}) => (
  <ul className="picks">
    {people.map((person) => (
      <li key={person.id}>
        <div>
          <b>
            <a href={`/office/${ids.countyId}/people/${person.id}`}>{person.name}</a>
          </b>{' '}
          <span className="quiet small">{person.countyRef}</span>
          <br />
          <span className="small">
            {distance(person)}; {count(person.electionsServed, 'election')} served
            {person.phone && `; ${person.phone}`}
          </span>
          {person.refusal && (
            <p className="small">
              <Tag kind="bad">may not</Tag> {person.refusal}
            </p>
          )}
          {!person.refusal && person.elsewhere && (
            <p className="small">
              Sits as {person.elsewhere.text}
              {person.elsewhere.locked ? ' (locked there).' : '. Moving leaves that seat empty.'}
            </p>
          )}
          {!person.refusal && <Against of={person} />}
        </div>
        {mayChange && !person.refusal && !person.elsewhere?.locked && (
          <ActionForm action={seatPersonAction}>
            <HiddenIds ids={ids} />
            <input type="hidden" name="workerId" value={person.id} />
            <input type="hidden" name="move" value={person.elsewhere ? 'yes' : 'no'} />
            <button type="submit" aria-label={`${person.elsewhere ? 'Move' : 'Put'} ${person.name} here`}>
              {person.elsewhere ? 'Move here' : 'Put here'}
            </button>
          </ActionForm>
        )}
      </li>
    ))}
  </ul>
)

const distance = (person: Candidate): string =>
  person.km !== null
    ? `${milesText(person.km)} away`
    : person.addressProtected
      ? 'address protected, no distance shown'
      : 'home not known'
