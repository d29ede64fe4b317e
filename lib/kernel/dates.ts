import { Temporal } from 'temporal-polyfill'

/** A civil date `YYYY-MM-DD`: a day on the wall calendar, in no time zone. Sorts as text. */
export type CivilDate = string & { readonly __brand: 'CivilDate' }

const SHAPE = /^\d{4}-\d{2}-\d{2}$/

/** True for a real calendar day from 1800 to 2999. */
export function isCivilDate(text: unknown): text is CivilDate {
  if (typeof text !== 'string' || !SHAPE.test(text) || text < '1800' || text >= '3000') return false
  try {
    Temporal.PlainDate.from(text, { overflow: 'reject' })
    return true
  } catch {
    return false
  }
}

/** Parses a civil date. @throws RangeError naming the text and the expected shape. */
export function civilDate(text: string): CivilDate {
  if (!isCivilDate(text)) throw new RangeError(`"${text}" is not a calendar date like 2028-11-07`)
  return text
}

const plain = (date: CivilDate) => Temporal.PlainDate.from(date)

/** The date `days` later (negative: earlier). */
export const addDays = (date: CivilDate, days: number): CivilDate =>
  plain(date).add({ days }).toString() as CivilDate

const isLeapYear = (year: number): boolean => (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0
const DAYS_IN_MONTH = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
const two = (n: number): string => (n < 10 ? `0${n}` : String(n))

/** The same day of the month, `months` later; where that month is shorter, its last day
 *  (31 January + 1 month = 28 or 29 February). Negative months go back by the same rule. Plain arithmetic: certificate
 *  spans of a whole county call it a million times. @throws RangeError outside the years 0–9999. */
export function addMonths(date: CivilDate, months: number): CivilDate {
  const index = Number(date.slice(0, 4)) * 12 + Number(date.slice(5, 7)) - 1 + months
  const year = Math.floor(index / 12)
  if (!(year >= 0 && year <= 9999))
    throw new RangeError(`${date} and ${months} months is no year from 0 to 9999`)
  const month = index - year * 12
  const last = month === 1 && isLeapYear(year) ? 29 : DAYS_IN_MONTH[month]!
  const day = Math.min(Number(date.slice(8, 10)), last)
  return `${String(year).padStart(4, '0')}-${two(month + 1)}-${two(day)}` as CivilDate
}

/** Days from `from` until `to`; negative when `to` is earlier. */
export const daysBetween = (from: CivilDate, to: CivilDate): number =>
  plain(from).until(plain(to), { largestUnit: 'days' }).days

/** The later / earlier of two dates. */
export const laterOf = (a: CivilDate, b: CivilDate): CivilDate => (a < b ? b : a)
export const earlierOf = (a: CivilDate, b: CivilDate): CivilDate => (a < b ? a : b)

/** The civil date that an instant has in a time zone (IANA name). */
export const civilDateAt = (instant: Date, timeZone: string): CivilDate =>
  Temporal.Instant.fromEpochMilliseconds(instant.getTime())
    .toZonedDateTimeISO(timeZone)
    .toPlainDate()
    .toString() as CivilDate

/** The federal election day of a year: the Tuesday after the first Monday in November, so 2 to 8 November
 *  (2 U.S.C. 7 for even years; states use the same day in odd ones). @throws RangeError outside 1845–2999. */
export function electionDay(year: number): CivilDate {
  if (!Number.isInteger(year) || year < 1845 || year > 2999)
    throw new RangeError(`year must be a whole number from 1845 to 2999, not ${year}`)
  const first = Temporal.PlainDate.from({ year, month: 11, day: 1 })
  const firstMonday = first.add({ days: (8 - first.dayOfWeek) % 7 })
  return firstMonday.add({ days: 1 }).toString() as CivilDate
}

/** The next federal general election (even years) on or after a date. */
export function nextFederalElection(onOrAfter: CivilDate): CivilDate {
  const year = plain(onOrAfter).year
  for (let y = year + (year % 2); ; y += 2) {
    const day = electionDay(y)
    if (day >= onOrAfter) return day
  }
}
