import { useId } from 'react'

/** A labelled input, or a list to choose from where it has `options`, for forms that no action answers field by field
 *  (filters, tables of fields). `Field` and `Choice` of the action form show what was wrong with a field too. */
export function PlainField({
  name,
  label,
  value,
  type = 'text',
  options,
  className = 'field',
  labelHidden = false,
  inputMode,
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
}) {
  const id = useId()
  return (
    <div className={className}>
      <label htmlFor={id} className={labelHidden ? 'only-heard' : undefined}>
        {label}
      </label>
      {options ? (
        <select id={id} name={name} defaultValue={value ?? ''}>
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
          defaultValue={value}
          inputMode={inputMode}
          autoComplete="off"
        />
      )}
    </div>
  )
}
