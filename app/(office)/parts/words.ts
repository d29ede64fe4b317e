import type { CivilDate } from '@/lib/kernel/dates'

/** The office works in English; a civil date has no zone, so it is put into words as UTC. */
const formats = {
  long: new Intl.DateTimeFormat('en-US', { dateStyle: 'full', timeZone: 'UTC' }),
  short: new Intl.DateTimeFormat('en-US', {
    weekday: 'short',
    month: 'short',
    day: 'numeric',
    timeZone: 'UTC',
  }),
  medium: new Intl.DateTimeFormat('en-US', { dateStyle: 'medium', timeZone: 'UTC' }),
}

export const dateText = (date: string, style: keyof typeof formats = 'medium'): string =>
  formats[style].format(new Date(`${date}T00:00:00Z`))

/** 'Sun, Oct 1', with the year where it isn't the one of today: 'Sat, Oct 1, 2028'. */
export const dayText = (date: string, today: string): string =>
  date.slice(0, 4) === today.slice(0, 4)
    ? dateText(date, 'short')
    : `${dateText(date, 'short')}, ${date.slice(0, 4)}`

export const daysText = (days: number): string =>
  days === 0 ? 'today' : days === 1 ? 'tomorrow' : days > 1 ? `in ${days} days` : `${-days} days ago`

export const count = (n: number, one: string, many = `${one}s`): string =>
  `${n.toLocaleString('en-US')} ${n === 1 ? one : many}`

/** The last day on which a span still holds: its end is the first day without it. */
export const lastDayOf = (until: string): CivilDate => {
  const day = new Date(`${until}T00:00:00Z`)
  day.setUTCDate(day.getUTCDate() - 1)
  return day.toISOString().slice(0, 10) as CivilDate
}
