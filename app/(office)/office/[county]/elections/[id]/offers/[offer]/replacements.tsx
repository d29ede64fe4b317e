import type { ReactNode } from 'react'
import { ActionForm, Field } from '@/app/ui/action-form'
import { Empty } from '@/app/ui/notice'
import { milesText } from '@/lib/kernel/miles'
import type { Replacements } from '@/lib/offers/queries-replacements'
import { count } from '../../../../../../parts/words'
import { Against } from '../../seats/[seat]/picker'
import { replaceAction } from './actions'

/** Whom to ask instead: one button puts the person into the seat and asks them. */
export function ReplacementPanel({
  found,
  mayReplace,
  county,
  base,
  seatId,
  hidden,
  answerBy,
  today,
  heldOn,
}: {
  found: Replacements
  mayReplace: boolean
  county: string
  base: string
  seatId: string
  hidden: ReactNode
  answerBy: string
  today: string
  heldOn: string
}) {
  return (
    <section className="panel" aria-labelledby="instead">
      <h2 id="instead">Whom to ask instead</h2>
      <p>
        The seat is empty in the draft. These people are certified, available and free at that time; the best
        first (the crew’s rules, then the way).
        {found.sameParty &&
          ' Your crew rules limit how many of a crew may be of one party, so all are of the same party as before.'}
      </p>
      {found.free.length === 0 ? (
        <Empty>
          <p>
            Nobody free may sit there. <a href={`${base}/seats/${seatId}`}>See everybody for this seat</a>, or{' '}
            <a href={`${base}/training`}>whom to train next</a>.
          </p>
        </Empty>
      ) : mayReplace ? (
        <ActionForm action={replaceAction}>
          {hidden}
          <Field
            name="answerBy"
            label="Last day for their answer"
            type="date"
            min={today}
            max={heldOn}
            defaultValue={answerBy}
          />
          <List found={found} county={county} mayReplace />
        </ActionForm>
      ) : (
        <List found={found} county={county} mayReplace={false} />
      )}
      {found.chains.length > 0 && (
        <>
          <h3>Or by moving somebody</h3>
          <ul>
            {found.chains.map((chain) => (
              <li key={chain}>{chain}</li>
            ))}
          </ul>
          <p>
            <a href={`${base}/seats/${seatId}`}>Move people on the roster</a>
          </p>
        </>
      )}
    </section>
  )
}

const List = ({
  found,
  county,
  mayReplace,
}: {
  found: Replacements
  county: string
  mayReplace: boolean
}) => (
  <ul className="picks">
    {found.free.map((person) => (
      <li key={person.id}>
        <div>
          <b>
            <a href={`/office/${county}/people/${person.id}`}>{person.name}</a>
          </b>{' '}
          <span className="quiet small">{person.countyRef}</span>
          <br />
          <span className="small">
            {person.km !== null
              ? `${milesText(person.km)} away`
              : person.addressProtected
                ? 'address protected, no distance shown'
                : 'home not known'}
            ; {count(person.electionsServed, 'election')} served
            {person.nominatedAs !== null && `; number ${person.nominatedAs} on a party’s list`}
            {person.phone && `; ${person.phone}`}
          </span>
          <Against of={person} />
        </div>
        {mayReplace && (
          <button
            type="submit"
            name="workerId"
            value={person.id}
            aria-label={`Offer the seat to ${person.name}`}
          >
            Offer it
          </button>
        )}
      </li>
    ))}
  </ul>
)
