import { type CivilDate, isCivilDate } from '@/lib/kernel/dates'

/** What the people list can be narrowed by, as the address line carries it. Absent: whatever it is. */
export interface PeopleFilter {
  /** Beginnings of names, or the county's number. */
  name?: string
  wantsPositionKey?: string
  /** Holds this certificate on `certifiedOn`. */
  certificateKey?: string
  certifiedOn?: CivilDate
  /** `certified` or not on that day, with any certificate when no key is given. */
  certified?: 'yes' | 'no'
  /** Code of a precinct or a place. */
  near?: string
  withinMiles?: number
  language?: string
  party?: string
  /** Elections served: none yet, or at least so many. */
  experience?: 'none' | '1' | '3' | '6'
  /** Not away and not excluded on that day. */
  freeOn?: CivilDate
  offersShift?: 'full' | 'morning' | 'afternoon'
  active?: 'yes' | 'no'
  student?: 'yes'
  after?: string
  before?: string
}

export type Search = Record<string, string | string[] | undefined>

/** Names in the address line → fields of the filter. */
const NAMES = {
  name: 'name',
  position: 'wantsPositionKey',
  certificate: 'certificateKey',
  on: 'certifiedOn',
  certified: 'certified',
  near: 'near',
  within: 'withinMiles',
  language: 'language',
  party: 'party',
  experience: 'experience',
  free: 'freeOn',
  shift: 'offersShift',
  active: 'active',
  student: 'student',
  after: 'after',
  before: 'before',
} as const satisfies Record<string, keyof PeopleFilter>
type SearchName = keyof typeof NAMES

const CHOICES: Partial<Record<SearchName, readonly string[]>> = {
  certified: ['yes', 'no'],
  within: ['1', '2', '5', '10', '20', '50'],
  experience: ['none', '1', '3', '6'],
  shift: ['full', 'morning', 'afternoon'],
  active: ['yes', 'no'],
  student: ['yes'],
}
const LONGEST = 200

/** The filter of an address line. What makes no sense there (an old link, a typing error) is left out: the list then
 *  says in words what it is narrowed by. */
export function readPeopleFilter(search: Search): PeopleFilter {
  const filter: Record<string, unknown> = {}
  for (const [name, field] of Object.entries(NAMES) as [SearchName, keyof PeopleFilter][]) {
    const value = search[name]
    if (typeof value !== 'string' || value.trim() === '' || value.length > LONGEST) continue
    if (CHOICES[name] && !CHOICES[name].includes(value)) continue
    if ((name === 'on' || name === 'free') && !isCivilDate(value)) continue
    filter[field] = name === 'within' ? Number(value) : value.trim()
  }
  return filter
}

/** The address line of a filter, without a leading `?`; the same filter always gives the same text. */
export function searchOf(filter: PeopleFilter, without: readonly (keyof PeopleFilter)[] = []): string {
  const query = new URLSearchParams()
  for (const [name, field] of Object.entries(NAMES) as [SearchName, keyof PeopleFilter][]) {
    const value = filter[field]
    if (value !== undefined && value !== '' && !without.includes(field)) query.set(name, String(value))
  }
  return query.toString()
}

/** The filter alone, without the place in the list. */
export const filterOnly = (filter: PeopleFilter): string => searchOf(filter, ['after', 'before'])

/** Languages that the list offers, by their ISO 639-1 keys: those of the federal language determinations and more
 *  (common practice). */
export const LANGUAGES = 'en es zh vi ko tl ja hi bn gu pa ur km hmn ru pl ar fa so am ht pt fr nv ase'.split(
  ' ',
)

const languageNames = new Intl.DisplayNames('en', { type: 'language' })
export const languageName = (key: string): string => {
  try {
    return languageNames.of(key) ?? key
  } catch {
    return key
  }
}
