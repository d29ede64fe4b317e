import { ActionForm, Choice, Field } from '@/app/ui/action-form'
import type { ClassChoices } from '@/lib/classes/queries-classes'
import type { FormAction } from '@/lib/web/define-action'

export interface ClassFields {
  topic: string
  positionKey: string
  locale: string
  placeName: string
  placeAddress: string
  on: string
  from: string
  until: string
  seats: string
  trainerName: string
  note: string
}

/** Planning a class, or changing one. */
export const ClassForm = ({
  choices,
  fields,
  action,
  change,
}: {
  choices: ClassChoices
  fields: ClassFields
  action: FormAction
  change?: { classId: string; revision: number }
}) => (
  <ActionForm action={action}>
    <input type="hidden" name="countyId" value={choices.county.id} />
    {change && (
      <>
        <input type="hidden" name="classId" value={change.classId} />
        <input type="hidden" name="revision" value={change.revision} />
      </>
    )}
    <Choice
      name="topic"
      label="What does it count as?"
      hint="The classes that your county’s rules ask for. A check-off day counts by what people show on it."
      defaultValue={fields.topic}
      options={choices.topics.map((t) => [t.key, t.title.en])}
    />
    <Choice
      name="positionKey"
      label="For whom?"
      defaultValue={fields.positionKey}
      options={[['', 'everybody'], ...choices.positions.map((p) => [p.key, p.nameEn] as [string, string])]}
    />
    <Choice
      name="locale"
      label="Held in"
      defaultValue={fields.locale}
      options={[
        ['en', 'English'],
        ['es', 'Spanish'],
      ]}
    />
    <Field name="on" label="Day" type="date" min={choices.today} defaultValue={fields.on} required />
    <div className="row at-end">
      <Field name="from" label="From" type="time" defaultValue={fields.from} required />
      <Field name="until" label="Until" type="time" defaultValue={fields.until} required />
    </div>
    <Field
      name="placeName"
      label="Place and room"
      list="places"
      autoComplete="off"
      defaultValue={fields.placeName}
      required
    />
    <datalist id="places">
      {choices.places.map((place) => (
        <option key={place.name} value={place.name}>
          {place.address}
        </option>
      ))}
    </datalist>
    <Field
      name="placeAddress"
      label="Address"
      hint="As people type it into a map."
      defaultValue={fields.placeAddress}
      required
    />
    <Field
      name="seats"
      label="Seats"
      type="number"
      min={1}
      max={500}
      inputMode="numeric"
      defaultValue={fields.seats}
      required
    />
    <Field name="trainerName" label="Trainer" defaultValue={fields.trainerName} required />
    <Field
      name="note"
      label="Good to know"
      hint="Parking, step-free door, what to bring. People read it as you write it, in your language."
      defaultValue={fields.note}
    />
    <button type="submit" data-kind="main">
      {change ? 'Save the changes' : 'Plan this class'}
    </button>
  </ActionForm>
)
