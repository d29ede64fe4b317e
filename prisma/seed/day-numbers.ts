/** Day arithmetic with a memory: a county's history falls on some thousand days, asked for a million times. */
import { addDays, type CivilDate, civilDate, daysBetween } from '@/lib/kernel/dates'

/** A Sunday, so that day number 0, 7, 14, … are Sundays. */
const DAY_ZERO = civilDate('2023-01-01')

const numbers = new Map<CivilDate, number>()
const days = new Map<number, CivilDate>()

/** Days since 1 January 2023, negative before. */
export function dayNumberOf(on: CivilDate): number {
  let number = numbers.get(on)
  if (number === undefined) {
    number = daysBetween(DAY_ZERO, on)
    numbers.set(on, number)
  }
  return number
}

export function dayOf(number: number): CivilDate {
  let on = days.get(number)
  if (on === undefined) {
    on = addDays(DAY_ZERO, number)
    days.set(number, on)
  }
  return on
}

/** The same as the kernel's `addDays`. */
export const plusDays = (on: CivilDate, count: number): CivilDate => dayOf(dayNumberOf(on) + count)

/** Days from `from` until `to`, the same as the kernel's `daysBetween`. */
export const daysFrom = (from: CivilDate, to: CivilDate): number => dayNumberOf(to) - dayNumberOf(from)

export const isSunday = (on: CivilDate): boolean => dayNumberOf(on) % 7 === 0
