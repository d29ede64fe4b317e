import type { Tx } from '@/lib/db/client'
import type { PairFacts } from './instance'

/** Pairs of people to keep together or apart, and which of them a roster misses. */

interface Pair extends PairFacts {
  id: string
}

/** The open pairs of a county whose two people are active; of somebody, where that is given. */
export async function listPairs(tx: Tx, countyId: string, of?: readonly string[]): Promise<Pair[]> {
  const own = of && { in: [...of] }
  const rows = await tx.personPair.findMany({
    where: {
      countyId,
      takenBackAt: null,
      pollWorker: { active: true },
      other: { active: true },
      ...(own && { OR: [{ pollWorkerId: own }, { otherId: own }] }),
    },
    select: { id: true, kind: true, pollWorkerId: true, otherId: true },
    orderBy: { id: 'asc' },
  })
  return rows.map(({ id, kind, pollWorkerId, otherId }) => ({ id, kind, people: [pollWorkerId, otherId] }))
}

interface Sitting {
  workerId: string
  placeId: string
  servesOn: string
}

/** A pair that a roster misses on a day: both in the crew of one place who are to be apart, or both seated, at two places,
 *  who are to be together. Where only one of them sits nothing is missed. */
interface Missed {
  pair: Pair
  servesOn: string
  /** Where each of the two sits. */
  placeIds: [string, string]
}

/** Counted as the optimiser counts (core/state.ts), but for somebody whom a clerk has put into two places on one day:
 *  there, either place counts. */
function missedIn(pairs: readonly Pair[], sittings: readonly Sitting[]): Missed[] {
  const placesOf = new Map<string, string[]>()
  const key = (workerId: string, servesOn: string) => `${workerId} ${servesOn}`
  for (const { workerId, servesOn, placeId } of sittings) {
    const at = key(workerId, servesOn)
    placesOf.set(at, [...(placesOf.get(at) ?? []), placeId])
  }
  const days = [...new Set(sittings.map((s) => s.servesOn))].sort()
  return days.flatMap((servesOn) =>
    pairs.flatMap((pair): Missed[] => {
      const [here, there] = pair.people.map((id) => placesOf.get(key(id, servesOn)))
      if (!here || !there) return []
      const shared = here.find((placeId) => there.includes(placeId))
      if ((pair.kind === 'apart') !== (shared !== undefined)) return []
      return [{ pair, servesOn, placeIds: [shared ?? here[0]!, shared ?? there[0]!] }]
    }),
  )
}

export interface MissedPair {
  id: string
  kind: 'together' | 'apart'
  servesOn: string
  people: { id: string; name: string; place: { id: string; code: string; name: string } }[]
}

interface RosterKeys {
  id: string
  countyId: string
}

/** The pairs that a roster misses, day by day, counted from who sits there now. */
export async function listMissedPairs(tx: Tx, roster: RosterKeys): Promise<MissedPair[]> {
  const pairs = await listPairs(tx, roster.countyId)
  if (pairs.length === 0) return []
  const { sittings, names, places } = await sittingsOf(tx, roster, pairs)
  return missedIn(pairs, sittings).map(({ pair, servesOn, placeIds }) => ({
    id: pair.id,
    kind: pair.kind,
    servesOn,
    people: pair.people.map((id, i) => ({ id, name: names.get(id)!, place: places.get(placeIds[i]!)! })),
  }))
}

/** Where the people of some pairs sit, and how they are called. */
async function sittingsOf(tx: Tx, roster: RosterKeys, pairs: readonly Pair[]) {
  const ids = [...new Set(pairs.flatMap((pair) => pair.people))]
  const rows = await tx.seating.findMany({
    where: { rosterId: roster.id, pollWorkerId: { in: ids } },
    select: {
      pollWorkerId: true,
      seat: {
        select: { servesOn: true, pollingPlace: { select: { id: true, code: true, name: true } } },
      },
    },
  })
  const people = await tx.pollWorker.findMany({
    where: { id: { in: ids } },
    select: { id: true, givenName: true, familyName: true },
  })
  return {
    sittings: rows.map(({ pollWorkerId, seat }) => ({
      workerId: pollWorkerId,
      servesOn: seat.servesOn,
      placeId: seat.pollingPlace.id,
    })),
    names: new Map(people.map((p) => [p.id, `${p.givenName} ${p.familyName}`])),
    places: new Map(rows.map(({ seat }) => [seat.pollingPlace.id, seat.pollingPlace])),
  }
}

export type PairJudge = (change: { leave: Sitting[]; come: Sitting[] }) => string[]

/** For some people and places: which sentences a change of their crews calls for, because it would bring two into one
 *  crew who are to be apart, or part two who are to be together. Null where none of the people is one of a pair. */
export async function loadPairJudge(
  tx: Tx,
  roster: RosterKeys,
  placeIds: readonly string[],
  workerIds: readonly string[],
): Promise<PairJudge | null> {
  return pairJudgeOf(tx, roster, placeIds, await listPairs(tx, roster.countyId, workerIds))
}

/** The same where the pairs of the people are known. */
export async function pairJudgeOf(
  tx: Tx,
  roster: RosterKeys,
  placeIds: readonly string[],
  pairs: readonly Pair[],
): Promise<PairJudge | null> {
  if (pairs.length === 0) return null
  const { sittings, names, places } = await sittingsOf(tx, roster, pairs)
  const more = await tx.pollingPlace.findMany({
    where: { id: { in: [...placeIds] } },
    select: { id: true, code: true, name: true },
  })
  for (const place of more) places.set(place.id, place)
  const keyOf = ({ pair, servesOn }: Missed) => `${pair.id} ${servesOn}`
  const before = new Set(missedIn(pairs, sittings).map(keyOf))
  const placeName = (id: string) => `${places.get(id)?.code} ${places.get(id)?.name}`
  return ({ leave, come }) => {
    const after = [...sittings]
    for (const gone of leave) {
      const i = after.findIndex(
        (s) => s.workerId === gone.workerId && s.placeId === gone.placeId && s.servesOn === gone.servesOn,
      )
      if (i >= 0) after.splice(i, 1)
    }
    return missedIn(pairs, [...after, ...come])
      .filter((missed) => !before.has(keyOf(missed)))
      .map(({ pair, placeIds: [here, there] }) => {
        const [one, other] = pair.people.map((id) => names.get(id)!) as [string, string]
        return pair.kind === 'apart'
          ? `${one} and ${other} are to be kept apart; both would be in the crew of ${placeName(here)}.`
          : `${one} and ${other} are to serve together; they would be at ${placeName(here)} and at ${placeName(there)}.`
      })
  }
}
