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

/** A form whose answer is shown above it, with the focus on it. Works before JavaScript has loaded. With `fold` it lies
 *  under that line until somebody opens it, and stands open with its answer: else nobody would see that. */
export function ActionForm({
  action,
  children,
  className,
  id,
  fold,
}: {
  action: (before: Outcome, form: FormData) => Promise<Outcome>
  children: ReactNode
  className?: string
  id?: string
  fold?: ReactNode
}) {
  const [outcome, submit, working] = useActionState(action, { status: 'idle' })
  const told = useRef<HTMLDivElement>(null)
  const words = useUiWords()
  useEffect(() => {
    if (outcome.status !== 'idle') told.current?.focus()
  }, [outcome])
  const kind = outcome.status === 'done' ? 'good' : 'bad'
  const form = (
    <OutcomeContext value={outcome}>
      <form action={submit} className={fold === undefined ? className : undefined} id={id} noValidate>
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
  if (fold === undefined) return form
  return (
    <details className={className} open={outcome.status !== 'idle'}>
      <summary>{fold}</summary>
      {form}
    </details>
  )
}

/** The names under which an answer keeps several values lack their brackets. */
const plainName = (name: string) => name.replace(/\[\]$/, '')

/** All that was typed and ticked when the form was refused; undefined before that. */
function useAllEntered() {
  const outcome = useOutcome()
  return outcome.status === 'refused' || outcome.status === 'failed' ? outcome.entered : undefined
}

/** What stood in a field when its form was refused; of a name that ends in `[]`, what stood in its nth field. */
export function useEntered(name: string, n = 0): string | undefined {
  const entered = useAllEntered()?.[plainName(name)]
  return typeof entered === 'string' ? entered : entered?.[n]
}

/** What a field held and what was wrong with it when its form was refused, and what says so to a screen reader. */
function useEntry(name: string, hint: string | undefined) {
  const outcome = useOutcome()
  const error = outcome.status === 'refused' ? outcome.fields?.[name] : undefined
  const id = useFieldId(name)
  return {
    id,
    entered: useEntered(name),
    error,
    described: {
      'aria-invalid': error ? true : undefined,
      'aria-describedby':
        [hint && `${id}-hint`, error && `${id}-error`].filter(Boolean).join(' ') || undefined,
    },
  }
}

const Labelled = ({
  id,
  label,
  hint,
  error,
  children,
}: {
  id: string
  label: string
  hint?: string
  error?: string
  children: ReactNode
}) => (
  <div className="field">
    <label htmlFor={id}>{label}</label>
    {hint && (
      <p className="hint" id={`${id}-hint`}>
        {hint}
      </p>
    )}
    {children}
    {error && (
      <p className="field-error" id={`${id}-error`}>
        {error}
      </p>
    )}
  </div>
)

interface Labels {
  name: string
  label: string
  hint?: string
  defaultValue?: string
}
type Without<T> = Omit<T, 'name' | 'defaultValue' | 'id'>

/** A labelled text field that shows what was wrong with it, and keeps what was typed. */
export function Field({
  name,
  label,
  hint,
  defaultValue,
  ...input
}: Labels & Without<React.InputHTMLAttributes<HTMLInputElement>>) {
  const { id, entered, error, described } = useEntry(name, hint)
  return (
    <Labelled id={id} label={label} hint={hint} error={error}>
      <input
        {...input}
        {...described}
        id={id}
        name={name}
        key={entered}
        defaultValue={entered ?? defaultValue}
      />
    </Labelled>
  )
}

/** The same for several lines. */
export function LongField({
  name,
  label,
  hint,
  defaultValue,
  ...area
}: Labels & Without<React.TextareaHTMLAttributes<HTMLTextAreaElement>>) {
  const { id, entered, error, described } = useEntry(name, hint)
  return (
    <Labelled id={id} label={label} hint={hint} error={error}>
      <textarea
        {...area}
        {...described}
        id={id}
        name={name}
        key={entered}
        defaultValue={entered ?? defaultValue}
      />
    </Labelled>
  )
}

/** A labelled list to choose from, with what was wrong with the choice. A select keeps the value that it began with, so a
 *  new one (kept by the server, or typed before a refusal) begins anew. */
export function Choice({
  name,
  label,
  hint,
  options,
  defaultValue,
}: Labels & {
  /** Value and words. */
  options: [string, string][]
}) {
  const { id, entered, error, described } = useEntry(name, hint)
  return (
    <Labelled id={id} label={label} hint={hint} error={error}>
      <select
        {...described}
        id={id}
        name={name}
        key={entered ?? defaultValue}
        defaultValue={entered ?? defaultValue}
      >
        {options.map(([value, words]) => (
          <option key={value} value={value}>
            {words}
          </option>
        ))}
      </select>
    </Labelled>
  )
}

/** A box or round button to tick, within its own label; keeps what was ticked when the form was refused. */
export function Tick({
  type = 'checkbox',
  name,
  value,
  defaultChecked = false,
  ...input
}: {
  type?: 'checkbox' | 'radio'
  name: string
  value: string
  defaultChecked?: boolean
} & Omit<React.InputHTMLAttributes<HTMLInputElement>, 'type' | 'name' | 'value' | 'defaultChecked'>) {
  const entered = useAllEntered()
  const checked = entered ? [entered[plainName(name)]].flat().includes(value) : defaultChecked
  return (
    <input {...input} key={String(checked)} type={type} name={name} value={value} defaultChecked={checked} />
  )
}

/** What was wrong with a group of fields that share a name. */
export function FieldError({ name }: { name: string }) {
  const outcome = useOutcome()
  const error = outcome.status === 'refused' ? outcome.fields?.[name] : undefined
  return error ? <p className="field-error">{error}</p> : null
}
