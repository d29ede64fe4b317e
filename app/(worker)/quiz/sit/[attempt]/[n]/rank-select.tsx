'use client'
import { useEntered } from '@/app/ui/action-form'

/** The place of one line; keeps what was chosen when the answer was refused. */
export function RankSelect({
  name,
  label,
  none,
  places,
  chosen,
}: {
  name: string
  label: string
  none: string
  places: number
  chosen: string
}) {
  const entered = useEntered(name)
  return (
    <select id={name} name={name} aria-label={label} key={entered} defaultValue={entered ?? chosen}>
      <option value="">{none}</option>
      {Array.from({ length: places }, (_, i) => i + 1).map((place) => (
        <option key={place} value={place}>
          {place}
        </option>
      ))}
    </select>
  )
}
