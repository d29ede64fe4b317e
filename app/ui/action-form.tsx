'use client'
import { createContext, type ReactNode, useActionState, useContext, useEffect, useRef } from 'react'
import type { Outcome } from '@/lib/web/outcome'
import { useUiWords } from './words'

const OutcomeContext = createContext<Outcome>({ status: 'idle' })
export const useOutcome = () => useContext(OutcomeContext)

/** Set by the form's `id`: two forms on a page may have fields of the same name. */
const FormId = createContext<string | undefined>(undefined)
const useFieldId = (name: string): string => {
  const form = useContext(FormId)
  return form ? `${form}-field-${name}` : `field-${name}`
}

/** A form whose answer is shown above it, with the focus on it. Works before JavaScript has loaded. */
export function ActionForm({
  action,
  children,
  className,
  id,
}: {
  action: (before: Outcome, form: FormData) => Promise<Outcome>
  children: ReactNode
  className?: string
  id?: string
}) {
  const [outcome, submit, working] = useActionState(action, { status: 'idle' })
  const told = useRef<HTMLDivElement>(null)
  const words = useUiWords()
  useEffect(() => {
    if (outcome.status !== 'idle') told.current?.focus()
  }, [outcome])
  const kind = outcome.status === 'done' ? 'good' : 'bad'
  return (
    <OutcomeContext value={outcome}>
      <form action={submit} className={className} id={id} noValidate>
        {outcome.status !== 'idle' && outcome.message && (
          <div
            ref={told}
            tabIndex={-1}
            className="notice"
            data-kind={kind}
            role={kind === 'bad' ? 'alert' : 'status'}
          >
            <p>{outcome.message}</p>
          </div>
        )}
        <FormId value={id}>{children}</FormId>
        <span aria-live="polite" className="small quiet">
          {working ? words.working : ''}
        </span>
      </form>
    </OutcomeContext>
  )
}

/** A labelled text field that shows what was wrong with it, and keeps what was typed. */
export function Field({
  name,
  label,
  hint,
  defaultValue,
  ...input
}: { name: string; label: string; hint?: string; defaultValue?: string } & Omit<
  React.InputHTMLAttributes<HTMLInputElement>,
  'name' | 'defaultValue' | 'id'
>) {
  const outcome = useOutcome()
  const refused = outcome.status === 'refused' ? outcome : undefined
  const error = refused?.fields?.[name]
  const id = useFieldId(name)
  const describedBy = [hint && `${id}-hint`, error && `${id}-error`].filter(Boolean).join(' ') || undefined
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      {hint && (
        <p className="hint" id={`${id}-hint`}>
          {hint}
        </p>
      )}
      <input
        {...input}
        id={id}
        name={name}
        key={refused?.entered?.[name]}
        defaultValue={refused?.entered?.[name] ?? defaultValue}
        aria-invalid={error ? true : undefined}
        aria-describedby={describedBy}
      />
      {error && (
        <p className="field-error" id={`${id}-error`}>
          {error}
        </p>
      )}
    </div>
  )
}

/** A labelled list to choose from, with what was wrong with the choice. */
export function Choice({
  name,
  label,
  hint,
  options,
  defaultValue,
}: {
  name: string
  label: string
  hint?: string
  /** Value and words. */
  options: [string, string][]
  defaultValue?: string
}) {
  const outcome = useOutcome()
  const refused = outcome.status === 'refused' ? outcome : undefined
  const error = refused?.fields?.[name]
  const id = useFieldId(name)
  const describedBy = [hint && `${id}-hint`, error && `${id}-error`].filter(Boolean).join(' ') || undefined
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      {hint && (
        <p className="hint" id={`${id}-hint`}>
          {hint}
        </p>
      )}
      <select
        id={id}
        name={name}
        key={refused?.entered?.[name]}
        defaultValue={refused?.entered?.[name] ?? defaultValue}
        aria-invalid={error ? true : undefined}
        aria-describedby={describedBy}
      >
        {options.map(([value, words]) => (
          <option key={value} value={value}>
            {words}
          </option>
        ))}
      </select>
      {error && (
        <p className="field-error" id={`${id}-error`}>
          {error}
        </p>
      )}
    </div>
  )
}

/** What was wrong with a group of fields that share a name. */
export function FieldError({ name }: { name: string }) {
  const outcome = useOutcome()
  const error = outcome.status === 'refused' ? outcome.fields?.[name] : undefined
  return error ? <p className="field-error">{error}</p> : null
}
