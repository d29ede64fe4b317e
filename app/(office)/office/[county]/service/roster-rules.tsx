import { ActionForm, Choice, Field } from '@/app/ui/action-form'
import type { RosterRulesForm } from '@/lib/roster/queries-rules'
import { rosterRulesAction } from './actions'

const orEmpty = (n: number) => (n === 0 ? '' : String(n))

/** What the county wants of its rosters beyond filled seats. */
export function RosterRules({
  county,
  form,
  positions,
}: {
  county: string
  form: RosterRulesForm
  positions: readonly { key: string; nameEn: string; rank: number }[]
}) {
  const { wishes, parties } = form
  const names = new Intl.DisplayNames('en', { type: 'language' })
  const languages = [...new Set([...form.languages, ...(wishes.language ? [wishes.language] : [])])]
  const onRecord = parties.length > 0 ? `On record: ${parties.join(', ')}.` : 'As people’s records spell it.'
  return (
    <section className="panel" aria-labelledby="wishes">
      <h2 id="wishes">What a roster should keep to</h2>
      <p>
        Seats come first: a run never leaves one empty for these wishes, unless a balance is required. Among
        rosters that fill the same seats it takes one that misses the fewest wishes, and among those the one
        with the least travel. Your law decides what must be.
      </p>
      <p>
        Two people who are to serve together, or to be kept apart, are noted on the page of either: each such
        pair counts as a wish more.
      </p>
      <ActionForm action={rosterRulesAction} id="roster-rules">
        <input type="hidden" name="countyId" value={county} />
        <div className="form-grid">
          <Choice
            name="balance"
            label="Balance of two parties in each crew"
            hint="Required: a seat may stay empty rather than break it; the board then says so."
            options={[
              ['none', 'not asked for'],
              ['counted', 'as near as can be'],
              ['required', 'required'],
            ]}
            defaultValue={wishes.balance}
          />
          <Field name="firstParty" label="One party" hint={onRecord} defaultValue={wishes.firstParty} />
          <Field name="secondParty" label="The other party" defaultValue={wishes.secondParty} />
          <Field
            name="mostDifference"
            label="More people of one than of the other, at most"
            hint="In one place on one day. People of no party or of another one don’t count."
            inputMode="numeric"
            defaultValue={String(wishes.mostDifference)}
          />
          <Choice
            name="leadAndDeputy"
            label="Lead and deputy of a place"
            options={[
              ['any', 'of any party'],
              ['different', 'not both of one of the two'],
            ]}
            defaultValue={wishes.leadAndDeputy}
          />
          <Choice
            name="deputy"
            label="The lead’s deputy is the"
            options={[
              ['', 'no position'],
              ...positions.flatMap(({ key, nameEn, rank }): [string, string][] =>
                rank === 1 ? [] : [[key, nameEn]],
              ),
            ]}
            defaultValue={positions.some((p) => p.key === wishes.deputy) ? wishes.deputy : ''}
          />
          <Choice
            name="language"
            label="A language spoken in each crew"
            options={[
              ['', 'none'],
              ...languages.map((code): [string, string] => [code, names.of(code) ?? code]),
            ]}
            defaultValue={wishes.language}
          />
          <Field
            name="speakers"
            label="People in each crew who speak it"
            hint="Empty: none."
            inputMode="numeric"
            defaultValue={orEmpty(wishes.speakers)}
          />
          <Field
            name="experienced"
            label="People in each crew who have served before"
            hint="Empty: no such wish."
            inputMode="numeric"
            defaultValue={orEmpty(wishes.experienced)}
          />
          <Field
            name="elections"
            label="In how many elections, at least"
            inputMode="numeric"
            defaultValue={String(wishes.elections)}
          />
          <Field
            name="returnMiles"
            label="Not returning to last time’s place counts like so many miles"
            hint="Last time: your last published roster. Empty: it doesn’t matter."
            inputMode="decimal"
            defaultValue={orEmpty(wishes.returnMiles)}
          />
          <Field
            name="changeMiles"
            label="Leaving the seat of the roster as it is counts like so many miles"
            hint="So that a new run changes less. Empty: it doesn’t matter."
            inputMode="decimal"
            defaultValue={orEmpty(wishes.changeMiles)}
          />
          <Field
            name="mostMiles"
            label="Nobody travels further than so many miles"
            hint="One way, in a straight line. Empty: only people’s own limits. Runs of a large county are quicker with one."
            inputMode="decimal"
            defaultValue={orEmpty(wishes.mostMiles)}
          />
        </div>
        <button type="submit" data-kind="main">
          Save these wishes
        </button>
      </ActionForm>
    </section>
  )
}
