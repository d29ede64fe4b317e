/** Parts of a day of work: the whole of it, or one half. */

const PARTS = ['full', 'morning', 'afternoon'] as const
export type DayPart = (typeof PARTS)[number]
export const dayPartOf = (text: string): DayPart => PARTS.find((part) => part === text) ?? 'full'

export interface Halves {
  /** The date for each half that is taken; null where it isn't. */
  morningOn: string | null
  afternoonOn: string | null
}

/** The halves of a day that a part takes, for keys that keep a seat or a person from being taken twice. */
export const halvesOf = (part: string, on: string): Halves => ({
  morningOn: part === 'afternoon' ? null : on,
  afternoonOn: part === 'morning' ? null : on,
})

/** The other way round. */
export const partIn = (row: Halves): DayPart =>
  row.afternoonOn === null ? 'morning' : row.morningOn === null ? 'afternoon' : 'full'

/** Rows that take some of the same time, as a database filter. */
export const atThatTime = (part: string, on: string) => {
  const { morningOn, afternoonOn } = halvesOf(part, on)
  return { OR: [...(morningOn ? [{ morningOn }] : []), ...(afternoonOn ? [{ afternoonOn }] : [])] }
}

/** Do two parts of one day overlap? */
export const overlap = (a: DayPart, b: DayPart): boolean => a === 'full' || b === 'full' || a === b
