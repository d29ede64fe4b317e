'use client'
import { useId } from 'react'
import { useEntered } from './action-form'

/** A labelled input, or a list to choose from where it has `options`, for filters and tables of fields;
 *  keeps what was typed when an action refused the form. `Field` and `Choice` of the action form show what was wrong with a field too. */
export function PlainField({
  name,
  label,
  value,
  type = 'text',
  options,
  className = 'field',
  labelHidden = false,
  inputMode,
  row = 0,
}: {
  name: string
  label: string
  value: string | undefined
  type?: string
  /** Value and words. */
  options?: [string, string][]
  className?: string
  /** The label is only heard: a table's heads say it to the eye. */
  labelHidden?: boolean
  inputMode?: 'decimal' | 'numeric'
  /** In a table of fields of one name: which line it stands in, from 0. */
  row?: number
}) {
  const id = useId()
  const entered = useEntered(name, row)
  const shown = entered ?? value
  return (
    <div className={className}>
      <label htmlFor={id} className={labelHidden ? 'only-heard' : undefined}>
        {label}
      </label>
      {options ? (
        <select id={id} name={name} key={shown} defaultValue={shown ?? ''}>
          {options.map(([key, words]) => (
            <option key={key} value={key}>
              {words}
            </option>
          ))}
        </select>
      ) : (
        <input
          id={id}
          name={name}
          type={type}
          key={entered}
          defaultValue={shown}
          inputMode={inputMode}
          autoComplete="off"
        />
      )}
    </div>
  )
}
