/** What each kind of import can take from a table, and under which names columns for it are known. */

export const IMPORT_KINDS = ['people', 'places', 'training', 'service', 'nominations'] as const
export type ImportKind = (typeof IMPORT_KINDS)[number]

export interface Field {
  key: string
  /** As the mapping page names it. */
  label: string
  /** One of a group of alternatives, or alone: without it no row can be read. */
  needed?: string
  names: readonly string[]
}

const field = (key: string, label: string, names: string, needed?: string): Field => ({
  key,
  label,
  names: names.split('; ').filter(Boolean),
  ...(needed ? { needed } : {}),
})

const REF = (needed?: string) =>
  field(
    'countyRef',
    'County’s number of the person',
    'county number; worker id; poll worker id; worker number; poll worker number; person id; person number; voter id; id; number; ref; reference; id number; record id; county ref; no',
    needed,
  )
const NAMES = [
  field('givenName', 'First name', 'first name; given name; first; forename; firstname; fname', 'a name'),
  field('familyName', 'Last name', 'last name; family name; surname; last; lastname; lname', 'a name'),
  field('fullName', 'Whole name', 'name; full name; worker name; person; nominee; nominee name', 'a name'),
]
const BIRTH = field(
  'birthYear',
  'Birth year or date',
  'birth year; year of birth; yob; birth date; date of birth; dob; birthdate; birthday; born',
)
const LATITUDE = 'latitude; lat; y; home lat; home latitude; geo lat'
const LONGITUDE = 'longitude; lon; lng; long; x; home lon; home longitude; geo lon; geo lng'
const ADDRESS = [
  field(
    'address',
    'Address',
    'address; street address; street; home address; address 1; address line 1; residence address; location address; addr',
  ),
  field('city', 'City', 'city; town; home city; municipality'),
  field('state', 'State', 'state; home state; st'),
  field('zip', 'ZIP code', 'zip; zip code; zipcode; postal code; home zip'),
]
const POSITION = (needed?: string) =>
  field(
    'position',
    'Position',
    'position; wants position; wants to work in; job; assignment; role; duty; preferred position; position key; wants position key',
    needed,
  )
const PARTY = field(
  'party',
  'Party',
  'party; political party; party affiliation; affiliation; registered party',
)

export const FIELDS: Record<ImportKind, readonly Field[]> = {
  people: [
    REF('the county’s number'),
    ...NAMES,
    BIRTH,
    field('email', 'E-mail', 'email; e mail; email address; e mail address; mail'),
    field(
      'phone',
      'Telephone',
      'phone; telephone; phone number; mobile; cell; cell phone; home phone; tel; mobile phone; telephone number',
    ),
    PARTY,
    ...ADDRESS,
    field('lat', 'Latitude of the home', LATITUDE),
    field('lon', 'Longitude of the home', LONGITUDE),
    field(
      'confidentialAddress',
      'Address is confidential (yes or no)',
      'confidential; confidential address; address confidential; protected; acp; address confidentiality',
    ),
    field('languages', 'Languages', 'languages; language; spoken languages; languages spoken; bilingual'),
    field('accommodations', 'Accommodations', 'accommodations; accommodation; special needs; needs'),
    POSITION(),
    field(
      'electionsServed',
      'Elections served before',
      'elections served; elections worked; experience; times served; prior elections',
    ),
    field(
      'maxTravelMiles',
      'Most miles to travel',
      'max travel miles; maximum miles; max miles; travel miles; miles; max travel; travel limit',
    ),
    field(
      'unavailableOn',
      'Days away',
      'unavailable on; unavailable; not available; days away; away; unavailable dates',
    ),
    field(
      'offersShift',
      'Part of the day (full, morning, afternoon)',
      'shift; offers shift; part of day; day part; full or half day; half day',
    ),
    field(
      'homePrecinct',
      'Home precinct (its code)',
      'home precinct; precinct; precinct code; voting precinct; registered precinct; precinct number; residence precinct',
    ),
    field(
      'student',
      'Serves as a student (yes or no)',
      'student; student worker; is student; student poll worker',
    ),
    field('active', 'Active (yes or no)', 'active; status; is active'),
  ],
  places: [
    field(
      'code',
      'County’s code of the place',
      'code; place code; polling place code; polling place id; location id; location code; place id; location number; polling place number; id; site id; site code; pp code; facility id',
      'the place’s code',
    ),
    field(
      'name',
      'Name of the place',
      'name; place name; polling place; polling place name; location name; location; facility; facility name; site; site name',
      'the place’s name',
    ),
    ...ADDRESS.map((f) => (f.key === 'address' ? { ...f, needed: 'the address' } : f)),
    field('lat', 'Latitude', LATITUDE),
    field('lon', 'Longitude', LONGITUDE),
    field(
      'kind',
      'Kind (polling place, vote center, early voting)',
      'kind; type; place type; location type; site type',
    ),
    field('equipmentProfile', 'Equipment profile', 'equipment; equipment profile; profile'),
    field(
      'precinct',
      'Precinct served',
      'precinct; precinct code; precinct id; precinct number; precincts; precincts served; precinct no',
    ),
    field('precinctName', 'Name of the precinct', 'precinct name; precinct description'),
    field(
      'registeredVoters',
      'Registered voters',
      'registered voters; voters; registered; registration; registration count; reg voters; active voters; voter count',
    ),
  ],
  training: [
    REF('the county’s number or a name'),
    ...NAMES.map((f) => ({ ...f, needed: 'the county’s number or a name' })),
    BIRTH,
    POSITION('the position'),
    field(
      'trainedOn',
      'Day trained',
      'trained on; training date; date trained; completed on; completed; completion date; certified on; certification date; class date; date',
      'the day',
    ),
    field(
      'saidBy',
      'Who says so',
      'who says so; trainer; instructor; trained by; certified by; recorded by; source; taught by; said by',
      'who says so',
    ),
  ],
  service: [
    REF('the county’s number'),
    field(
      'servedOn',
      'Day served',
      'served on; date; election date; day; date served; service date; worked on',
      'the day',
    ),
    POSITION('the position'),
    field('served', 'Served (yes or no)', 'served; worked; attended; showed up; present'),
  ],
  nominations: [
    REF('the county’s number or a name'),
    ...NAMES.map((f) => ({ ...f, needed: 'the county’s number or a name' })),
    BIRTH,
    POSITION('the position'),
    field('rank', 'Rank on the list', 'rank; order; list order; priority; place on list; list rank; line'),
    PARTY,
    field(
      'listedOn',
      'Date of the list',
      'list date; listed on; date of list; date; submitted; submitted on; filed on',
    ),
  ],
}

/** Field → column name. */
export type Mapping = Record<string, string>

const plainName = (text: string) =>
  text
    .normalize('NFD')
    .toLowerCase()
    .replace(/[^a-z0-9]/g, '')

/** Which column a table most likely means for each field: by name, each column once, the earlier synonym first. A
 *  column that somebody chose before (`remembered`) wins while the file still has it. */
export function suggestMapping(
  kind: ImportKind,
  header: readonly string[],
  remembered: Mapping = {},
): Mapping {
  const columns = new Map(header.map((name) => [plainName(name), name]))
  const used = new Set<string>()
  const mapping: Mapping = {}
  for (const { key } of FIELDS[kind]) {
    const before = remembered[key]
    const column = before === undefined ? undefined : columns.get(plainName(before))
    if (column !== undefined && !used.has(column)) {
      mapping[key] = column
      used.add(column)
    }
  }
  const longest = Math.max(...FIELDS[kind].map((f) => f.names.length))
  // The best synonym of every field before the second best of any: “Name” must not go to whoever stands first.
  for (let i = -1; i < longest; i++)
    for (const { key, names } of FIELDS[kind]) {
      if (mapping[key] !== undefined) continue
      const name = i < 0 ? key : names[i]
      const column = name === undefined ? undefined : columns.get(plainName(name))
      if (column === undefined || used.has(column)) continue
      mapping[key] = column
      used.add(column)
    }
  if (mapping.fullName !== undefined && mapping.givenName !== undefined && mapping.familyName !== undefined)
    delete mapping.fullName
  return mapping
}

/** What is wrong with a mapping itself, in words. */
export function mappingProblems(
  kind: ImportKind,
  header: readonly string[],
  mapping: Mapping,
  given: ReadonlySet<string> = new Set(),
): { field: string; message: string }[] {
  const problems: { field: string; message: string }[] = []
  const fields = FIELDS[kind]
  const has = (key: string) => mapping[key] !== undefined || given.has(key)
  for (const [key, column] of Object.entries(mapping)) {
    if (!fields.some((f) => f.key === key))
      problems.push({
        field: key,
        message: `There is no field “${key}”. Fields: ${fields.map((f) => f.key).join(', ')}.`,
      })
    else if (!header.includes(column))
      problems.push({
        field: key,
        message: `The file has no column “${column.slice(0, 60)}”. Its columns: ${header.slice(0, 30).join(', ').slice(0, 400)}.`,
      })
  }
  for (const what of new Set(fields.flatMap((f) => (f.needed ? [f.needed] : [])))) {
    const group = fields.filter((f) => f.needed === what)
    const wholeName = has('fullName') || (has('givenName') && has('familyName'))
    const enough =
      what === 'a name'
        ? wholeName
        : what === 'the county’s number or a name'
          ? has('countyRef') || wholeName
          : group.some((f) => has(f.key))
    if (!enough)
      problems.push({
        field: group[0]!.key,
        message: `No column gives ${what}. Name a column “${group[0]!.names[0]}”, or choose the column yourself.`,
      })
  }
  return problems
}
