import type { ReactNode } from 'react'
import { PlainField } from '@/app/ui/plain-field'
import { LANGUAGES, languageName, type PeopleFilter } from '@/lib/people/filter'
import { SHIFT_WORDS } from '@/lib/roster/words'

export const EXPERIENCE_WORDS = {
  none: 'none yet',
  '1': '1 or more elections',
  '3': '3 or more elections',
  '6': '6 or more elections',
} as const

/** What the people list can be narrowed by. The first row is what is asked most; the rest opens. */
export function FilterFields({
  filter,
  dayShown,
  positions,
  parties,
  mayParty,
  mayNear,
  children,
}: {
  filter: PeopleFilter
  /** The day to which `certified` refers. */
  dayShown: string
  positions: { key: string; nameEn: string; certificateKey: string }[]
  parties: string[]
  mayParty: boolean
  mayNear: boolean
  children: ReactNode
}) {
  const more =
    filter.near ||
    filter.language ||
    filter.party ||
    filter.experience ||
    filter.freeOn ||
    filter.offersShift ||
    filter.active ||
    filter.student
  return (
    <>
      <PlainField name="name" label="Name or number" value={filter.name} type="search" />
      <PlainField
        name="position"
        label="Wants to work in"
        value={filter.wantsPositionKey}
        options={[['', 'any position'], ...positions.map((p): [string, string] => [p.key, p.nameEn])]}
      />
      <PlainField
        name="certified"
        label="Certificate"
        value={filter.certified}
        options={[
          ['', 'certified or not'],
          ['yes', 'certified'],
          ['no', 'not certified'],
        ]}
      />
      <PlainField
        name="certificate"
        label="as"
        value={filter.certificateKey}
        options={[['', 'anything'], ...positions.map((p): [string, string] => [p.certificateKey, p.nameEn])]}
      />
      <PlainField name="on" label="on the day" value={dayShown} type="date" />
      <details className="more-filters" open={Boolean(more)}>
        <summary>More filters</summary>
        <div className="filter">
          <PlainField name="free" label="Can serve on" value={filter.freeOn} type="date" />
          <PlainField
            name="shift"
            label="Part of the day"
            value={filter.offersShift}
            options={[['', 'any'], ...Object.entries(SHIFT_WORDS)]}
          />
          <PlainField
            name="experience"
            label="Served before"
            value={filter.experience}
            options={[['', 'any'], ...Object.entries(EXPERIENCE_WORDS)]}
          />
          <PlainField
            name="language"
            label="Speaks"
            value={filter.language}
            options={[['', 'any language'], ...LANGUAGES.map((k): [string, string] => [k, languageName(k)])]}
          />
          {mayNear && (
            <>
              <PlainField name="near" label="Lives near (code of a precinct or place)" value={filter.near} />
              <PlainField
                name="within"
                label="within"
                value={String(filter.withinMiles ?? 5)}
                options={['1', '2', '5', '10', '20', '50'].map((n): [string, string] => [
                  n,
                  `${n} ${n === '1' ? 'mile' : 'miles'}`,
                ])}
              />
            </>
          )}
          {mayParty && (
            <PlainField
              name="party"
              label="Party"
              value={filter.party}
              options={[
                ['', 'any'],
                ...parties.map((party): [string, string] => [party, party]),
                ['none', 'none noted'],
              ]}
            />
          )}
          <PlainField
            name="active"
            label="Active"
            value={filter.active}
            options={[
              ['', 'active or not'],
              ['yes', 'active'],
              ['no', 'not active'],
            ]}
          />
          <PlainField
            name="student"
            label="Students"
            value={filter.student}
            options={[
              ['', 'everybody'],
              ['yes', 'students only'],
            ]}
          />
        </div>
      </details>
      {children}
    </>
  )
}
