import { ActionForm, Choice, Field } from '@/app/ui/action-form'
import type { PlaceDetail } from '@/lib/places/queries'
import { savePlaceAction } from './actions'
import { PLACE_KINDS } from './words'

/** What a place is. The same for a new one and for one that is changed. */
export const PlaceForm = ({
  county,
  place,
  profiles,
}: {
  county: string
  place: PlaceDetail | null
  profiles: [string, string][]
}) => (
  <ActionForm action={savePlaceAction} id="place">
    <input type="hidden" name="countyId" value={county} />
    <input type="hidden" name="placeId" value={place?.id ?? ''} />
    <div className="form-grid">
      <Field name="name" label="Name" defaultValue={place?.name} />
      <Field name="code" label="Code" hint="The county’s own number or letters." defaultValue={place?.code} />
      <Choice
        name="kind"
        label="Kind"
        options={Object.entries(PLACE_KINDS)}
        defaultValue={place?.kind ?? 'pollingPlace'}
      />
      <Choice
        name="equipmentProfile"
        label="Equipment"
        options={profiles}
        defaultValue={place?.equipmentProfile}
      />
      <Field name="address" label="Address" defaultValue={place?.address} />
      <Field
        name="lat"
        label="Latitude"
        hint="In degrees, like 41.87."
        inputMode="decimal"
        defaultValue={place ? String(place.lat) : ''}
      />
      <Field
        name="lon"
        label="Longitude"
        hint="West is negative, like −91.3."
        inputMode="decimal"
        defaultValue={place ? String(place.lon) : ''}
      />
      <Field name="contactName" label="Whom to call there" defaultValue={place?.contactName} />
      <Field name="contactPhone" label="Their phone" type="tel" defaultValue={place?.contactPhone} />
      <Field
        name="keysNote"
        label="Keys"
        hint="Who has them, how to get in, where things are kept."
        defaultValue={place?.keysNote}
      />
      <Field
        name="features"
        label="Words for the crew rules"
        hint="Separated by commas; only if your rules ask for some."
        defaultValue={place?.features.join(', ')}
      />
    </div>
    <button type="submit" data-kind="main">
      {place ? 'Save the place' : 'Make the place'}
    </button>
  </ActionForm>
)
