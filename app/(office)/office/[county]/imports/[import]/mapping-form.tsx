import type { ReactNode } from 'react'
import { ActionForm, Choice, Field } from '@/app/ui/action-form'
import { FIELDS, type ImportKind } from '@/lib/exchange/core/fields'
import type { ImportOutcome, ImportSettings } from '@/lib/exchange/outcome'
import type { Outcome } from '@/lib/web/outcome'

/** Which column is which, and what holds for the whole file. Kept for the next file of the kind. */
export function MappingForm({
  action,
  kind,
  outcome,
  settings,
  unclear,
  children,
}: {
  action: (before: Outcome, form: FormData) => Promise<Outcome>
  kind: ImportKind
  outcome: ImportOutcome
  settings: ImportSettings
  /** A column that is needed is not known: the choice stands open. */
  unclear: boolean
  children: ReactNode
}) {
  const { columns, mapping, feed } = outcome
  if (feed && feed.localities.length < 2) return null
  const unused = columns.filter((column) => !Object.values(mapping).includes(column))
  return (
    <section className="panel" aria-labelledby="columns">
      <h2 id="columns">{feed ? 'Which locality is yours?' : 'Which column is which?'}</h2>
      <ActionForm action={action}>
        {children}
        {feed ? (
          <Choice
            name="localityId"
            label="Locality"
            defaultValue={settings.localityId ?? ''}
            options={[
              ['', 'all of them'],
              ...feed.localities.map((l): [string, string] => [l.id, `${l.name} (${l.precincts} precincts)`]),
            ]}
          />
        ) : (
          <>
            {kind === 'nominations' && (
              <div className="grid">
                <Field name="party" label="Party, where no column says it" defaultValue={settings.party} />
                <Field
                  name="listedOn"
                  label="Date of the list"
                  type="date"
                  defaultValue={settings.listedOn}
                />
              </div>
            )}
            {kind === 'training' && (
              <Field
                name="saidBy"
                label="Who says so, where no column says it"
                hint="A name or an office, kept with each record."
                defaultValue={settings.saidBy}
              />
            )}
            <p>
              {unused.length === 0
                ? 'Every column is used.'
                : `Not used: ${unused.slice(0, 20).join(', ')}${unused.length > 20 ? ' …' : ''}.`}
            </p>
            <details open={unclear}>
              <summary>See or change the columns</summary>
              <div className="grid">
                {FIELDS[kind].map((field) => (
                  <Choice
                    key={field.key}
                    name={`map.${field.key}`}
                    label={field.label}
                    defaultValue={mapping[field.key] ?? ''}
                    options={[['', '–'], ...columns.map((column): [string, string] => [column, column])]}
                  />
                ))}
              </div>
            </details>
          </>
        )}
        <p>
          <button type="submit">Check again</button>
        </p>
      </ActionForm>
    </section>
  )
}
