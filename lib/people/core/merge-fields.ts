/** What of two records is chosen field by field, in the order of the page. `permission`: who may read (and so choose)
 *  it; null: whoever may merge. The county's number is none of them: the record that stays keeps its own. */
export const MERGE_FIELDS = [
  { key: 'givenName', label: 'First name', permission: null },
  { key: 'familyName', label: 'Last name', permission: null },
  { key: 'birthYear', label: 'Birth year', permission: null },
  { key: 'email', label: 'E-mail', permission: null },
  { key: 'phone', label: 'Telephone', permission: null },
  { key: 'homeAddress', label: 'Home address', permission: 'readHomeAddress' },
  { key: 'party', label: 'Party', permission: 'readParty' },
  { key: 'languages', label: 'Languages', permission: null },
  { key: 'accommodations', label: 'Accommodations', permission: 'readAccommodations' },
  { key: 'wantsPositionKey', label: 'Wants to work in', permission: null },
  { key: 'offersShift', label: 'Part of the day', permission: null },
  { key: 'maxTravelKm', label: 'Furthest way', permission: null },
  { key: 'electionsServed', label: 'Elections served', permission: null },
  { key: 'student', label: 'Serves as a student', permission: null },
  { key: 'livesOutside', label: 'Lives outside the county', permission: null },
  { key: 'homePrecinct', label: 'Home precinct', permission: 'readHomeAddress' },
  { key: 'active', label: 'Active', permission: null },
] as const

export type MergeField =
  | (typeof MERGE_FIELDS)[number]['key']
  | 'homeLat'
  | 'homeLon'
  | 'confidentialAddress'
  | 'unavailableOn'
  | 'timeMultiplier'

/** What protects the person or keeps them from a seat holds when either record says it: nobody chooses. */
export function heldByEither(
  kept: { confidentialAddress: boolean; unavailableOn: string[]; timeMultiplier: number },
  merged: typeof kept,
) {
  return {
    confidentialAddress: kept.confidentialAddress || merged.confidentialAddress,
    unavailableOn: [...new Set([...kept.unavailableOn, ...merged.unavailableOn])].sort(),
    timeMultiplier: Math.max(kept.timeMultiplier, merged.timeMultiplier),
  }
}
