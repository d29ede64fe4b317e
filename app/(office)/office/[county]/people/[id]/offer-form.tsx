import { ActionForm, Choice, Field, Tick } from '@/app/ui/action-form'
import { toMiles } from '@/lib/kernel/miles'
import { SHIFT_WORDS } from '@/lib/roster/words'
import { changeOfferAction } from './actions'

/** What somebody tells the office on the phone: which work, which part of the day, which days not, how far. */
export const OfferForm = ({
  countyId,
  person,
  positions,
  electionDay,
}: {
  countyId: string
  person: {
    id: string
    wantsPositionKey: string | null
    offersShift: string
    unavailableOn: string[]
    maxTravelKm: number | null
    active: boolean
  }
  positions: { key: string; name: string }[]
  electionDay: string | null
}) => (
  <ActionForm action={changeOfferAction}>
    <input type="hidden" name="countyId" value={countyId} />
    <input type="hidden" name="workerId" value={person.id} />
    <Choice
      name="wantsPositionKey"
      label="Wants to work in"
      options={[['', 'no wish'], ...positions.map((p): [string, string] => [p.key, p.name])]}
      defaultValue={person.wantsPositionKey ?? ''}
    />
    <Choice
      name="offersShift"
      label="Part of the day"
      options={Object.entries(SHIFT_WORDS)}
      defaultValue={person.offersShift}
    />
    <Field
      name="unavailableOn"
      label="Not available on"
      hint={`Dates like ${electionDay ?? '2028-11-07'}, with a comma between them; empty: always available.`}
      defaultValue={person.unavailableOn.join(', ')}
    />
    <Field
      name="maxTravelMiles"
      label="Furthest way, in miles"
      hint="As the crow flies; empty: no limit."
      inputMode="decimal"
      defaultValue={person.maxTravelKm === null ? '' : String(Number(toMiles(person.maxTravelKm).toFixed(1)))}
    />
    <label className="choice">
      <Tick name="active" value="yes" defaultChecked={person.active} />
      Active: may be seated
    </label>
    <button type="submit">Save</button>
  </ActionForm>
)
