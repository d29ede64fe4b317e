/** What election offices write where somebody belongs to no party (voter registration terms of the states, from memory):
 *  who is of none counts for none. "Independent" is left out, because parties bear that name. */
const NO_PARTY = new Set([
  '',
  'none',
  'no party',
  'no party affiliation',
  'no party preference',
  'non-partisan',
  'nonpartisan',
  'npa',
  'npp',
  'unaffiliated',
  'undeclared',
  'unenrolled',
])

/** The party that counts in a crew, in one spelling; null: none. */
export function partyKey(party: string | null): string | null {
  const key = party?.trim().toLowerCase() ?? ''
  return NO_PARTY.has(key) ? null : key
}

/** Somebody's place in a crew. A person may have two in one (both halves of a day) and counts once. */
export interface Sitting {
  crew: string
  workerId: string
  party: string | null
}

/** The parties of which a crew would have more than it may, and more than it has now, once some have left and others
 *  have come. `mostIn`: how many of one party a crew may have; null: any number. O(sittings). */
export function overPartyAfter(
  sittings: readonly Sitting[],
  mostIn: (crew: string) => number | null,
  change: { leave: readonly Sitting[]; come: readonly Sitting[] },
): { crew: string; party: string; people: number; most: number }[] {
  const after = [...sittings]
  for (const gone of change.leave) {
    const at = after.findIndex((s) => s.crew === gone.crew && s.workerId === gone.workerId)
    if (at >= 0) after.splice(at, 1)
  }
  after.push(...change.come)
  const peopleOf = (rows: readonly Sitting[], of: { crew: string; key: string }) =>
    new Set(rows.filter((s) => s.crew === of.crew && partyKey(s.party) === of.key).map((s) => s.workerId))
      .size
  const touched = new Map(change.come.map((s) => [`${s.crew} ${partyKey(s.party)}`, s]))
  return [...touched.values()].flatMap(({ crew, party }) => {
    const [key, most] = [partyKey(party), mostIn(crew)]
    if (key === null || most === null) return []
    const people = peopleOf(after, { crew, key })
    return people > most && people > peopleOf(sittings, { crew, key })
      ? [{ crew, party: party!.trim(), people, most }]
      : []
  })
}
