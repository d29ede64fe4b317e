'use client'
import { useOutcome } from '@/app/ui/action-form'

/** The judges by what they do, one a line; keeps what was typed after a refusal. */
export function Roles() {
  const outcome = useOutcome()
  const refused = outcome.status === 'refused' ? outcome : undefined
  const error = refused?.fields?.roles
  return (
    <div className="field">
      <label htmlFor="roles">Judges: one role a line</label>
      <p className="hint" id="roles-hint">
        What they do, not their names: “lead, nine elections”, “clerk’s deputy”, “trainer”. At least five is
        common practice.
      </p>
      <textarea
        id="roles"
        name="roles"
        rows={6}
        key={refused?.entered?.roles}
        defaultValue={refused?.entered?.roles}
        aria-invalid={error ? true : undefined}
        aria-describedby={error ? 'roles-hint roles-error' : 'roles-hint'}
      />
      {error && (
        <p className="field-error" id="roles-error">
          {error}
        </p>
      )}
    </div>
  )
}
