import { notFound } from 'next/navigation'
import { ActionForm, Choice, Field } from '@/app/ui/action-form'
import { Notice } from '@/app/ui/notice'
import { can } from '@/lib/auth/permissions'
import { requireActor } from '@/lib/auth/session'
import { getPerson } from '@/lib/people/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { OfficePage } from '../../../../../parts/office-page'
import { correctPersonAction } from '../actions'

export const metadata = { title: 'Correct a person’s data' }

const YES_NO: [string, string][] = [
  ['no', 'no'],
  ['yes', 'yes'],
]
const MORE_TIME: [string, string][] = [
  ['1', 'the usual time'],
  ['1.25', 'a quarter more'],
  ['1.5', 'half as much again'],
  ['2', 'twice the time'],
  ['3', 'three times'],
]
const yesNo = (answer: boolean) => (answer ? 'yes' : 'no')

export default async function CorrectPage({ params }: { params: Promise<{ county: string; id: string }> }) {
  const { county, id } = await params
  const actor = await requireActor(`/office/${county}/people/${id}/correct`)
  if (!can(actor, 'changePeople', county)) notFound()
  const person = await orNotFound(getPerson(actor, county, id))
  const name = `${person.givenName} ${person.familyName}`
  return (
    <OfficePage
      title={`Correct the data of ${name}`}
      crumbs={[
        { href: `/office/${county}/people`, name: 'People' },
        { href: `/office/${county}/people/${id}`, name },
      ]}
    >
      <p>
        What you change here is kept with your name. Certificates that were printed before keep the old name.
      </p>
      <ActionForm action={correctPersonAction}>
        <input type="hidden" name="countyId" value={county} />
        <input type="hidden" name="workerId" value={id} />
        <fieldset>
          <legend>Name and contact</legend>
          <div className="form-grid">
            <Field name="givenName" label="Given name" defaultValue={person.givenName} />
            <Field name="familyName" label="Family name" defaultValue={person.familyName} />
            <Field
              name="birthYear"
              label="Year of birth"
              inputMode="numeric"
              defaultValue={String(person.birthYear ?? '')}
            />
            <Field name="phone" label="Phone" type="tel" defaultValue={person.phone ?? ''} />
            <Field name="email" label="E-mail" type="email" defaultValue={person.email ?? ''} />
            <Field
              name="languages"
              label="Languages"
              hint="Codes of two letters, with commas: en English, es Spanish, vi Vietnamese, zh Chinese."
              defaultValue={person.languages.join(', ')}
            />
          </div>
        </fieldset>
        <fieldset>
          <legend>For the county’s rules</legend>
          <div className="form-grid">
            <Choice
              name="student"
              label="Serves as a student"
              options={YES_NO}
              defaultValue={yesNo(person.student)}
            />
            <Choice
              name="livesOutside"
              label="Lives outside the county"
              options={YES_NO}
              defaultValue={yesNo(person.livesOutside)}
            />
            {'party' in person && <Field name="party" label="Party" defaultValue={person.party ?? ''} />}
          </div>
        </fieldset>
        {person.at && (
          <fieldset>
            <legend>Home</legend>
            <div className="form-grid">
              <Field name="homeAddress" label="Address" defaultValue={person.address ?? ''} />
              <Field
                name="homePrecinct"
                label="Home precinct"
                hint="Code of the precinct where they are registered to vote. Only needed if your county seats by precinct."
                defaultValue={person.homePrecinct ?? ''}
              />
              <Field
                name="homeLat"
                label="Latitude"
                inputMode="decimal"
                hint="Where the address is, for travel. Empty: unknown."
                defaultValue={String(person.at.lat ?? '')}
              />
              <Field
                name="homeLon"
                label="Longitude"
                inputMode="decimal"
                hint="West is negative."
                defaultValue={String(person.at.lon ?? '')}
              />
              <Choice
                name="confidentialAddress"
                label="Address under protection"
                hint="Once protected, only an administrator sees it or ends the protection."
                options={YES_NO}
                defaultValue={yesNo(person.addressProtected)}
              />
            </div>
          </fieldset>
        )}
        {person.at === null && (
          <Notice kind="info">
            <p>The address is protected. Only an administrator of the county sees and changes it.</p>
          </Notice>
        )}
        {'accommodations' in person && (
          <fieldset>
            <legend>Accommodations</legend>
            <div className="form-grid">
              <Field
                name="accommodations"
                label="What this person needs"
                defaultValue={person.accommodations ?? ''}
              />
              <Choice
                name="timeMultiplier"
                label="Time in quizzes"
                options={MORE_TIME}
                defaultValue={String(person.timeMultiplier ?? 1)}
              />
            </div>
          </fieldset>
        )}
        <p className="row">
          <button type="submit" data-kind="main">
            Save
          </button>
          <a className="button" href={`/office/${county}/people/${id}`}>
            Change nothing
          </a>
        </p>
      </ActionForm>
    </OfficePage>
  )
}
