import type { Actor } from '@/lib/auth/actor'
import { can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { type DayPart, overlap, partIn } from '@/lib/kernel/day-parts'
import { distanceKm } from '@/lib/places/core/distance'
import { prepareRoster } from '@/lib/roster/core/prepared'
import { type RepairOption, repair } from '@/lib/roster/core/repair'
import { latestRoster, loadSmallGround, rulesOf } from '@/lib/roster/facts'
import { listPairs, pairJudgeOf } from '@/lib/roster/facts-pairs'
import { pairRules } from '@/lib/roster/instance'
import { RosterInstance, type RosterSeat } from '@/lib/roster/schema'
import { readSpot, spotId } from '@/lib/roster/spot'
import { crewsBindParty } from './facts-replacements'

/** Nearest holders of the certificate that are looked at: an answer costs the same in a county of any size. */
const NEAREST = 300
const SHOWN = 12
const GONE = 'gone'

const bare = (id: string): string => readSpot(id)!.seatId

export interface Replacement {
  id: string
  name: string
  countyRef: string
  phone: string | null
  electionsServed: number
  /** One way, straight line; null: unknown or protected. */
  km: number | null
  addressProtected: boolean
  /** Place on the newest list of a party that named them for this position; null: none, or the county asks all alike. */
  nominatedAs: number | null
  /** Whom they would then be together with or apart from, otherwise than noted. */
  pairWarnings: string[]
}

export interface Replacements {
  /** Free people who may sit there, the best first. */
  free: Replacement[]
  /** Where nobody free is better: who could move there and who would follow, in words. */
  chains: string[]
  /** The county asks for the same party: nobody else is in the lists. */
  sameParty: boolean
}

/** Who could take an empty seat, or the empty half of one: free people first (by rule violations added, then travel), then short chains of moves.
 *  People whose address is protected come last, in name order: their rank by distance would tell where they live. */
export async function listReplacements(
  actor: Actor,
  asked: { seatId: string; part: DayPart },
  instead: { countyId: string; workerId: string },
): Promise<Replacements> {
  const { countyId } = instead
  const { seatId, part } = asked
  const [seat, before, sameParty] = await Promise.all([
    db().seat.findUniqueOrThrow({
      where: { id: seatId },
      include: { position: true, pollingPlace: { select: { lat: true, lon: true } } },
    }),
    db().pollWorker.findUniqueOrThrow({ where: { id: instead.workerId }, select: { party: true } }),
    crewsBindParty(db(), countyId),
  ])
  const roster = await latestRoster(db(), seat.electionId)
  const ids = await nearestHolders(countyId, seat, sameParty ? { party: before.party } : null)
  // Where the other one of a pair sits counts, too.
  const pairs = await listPairs(db(), countyId, ids)
  const near = [...new Set([...ids, ...pairs.flatMap((pair) => pair.people)])]
  const seated = roster
    ? await db().seating.findMany({
        where: {
          rosterId: roster.id,
          seat: { servesOn: seat.servesOn },
          OR: [{ pollWorkerId: { in: near } }, { seat: { pollingPlaceId: seat.pollingPlaceId } }],
        },
        select: { seatId: true, pollWorkerId: true, locked: true, morningOn: true, afternoonOn: true },
      })
    : []
  if (seated.some((s) => s.seatId === seatId && overlap(partIn(s), part)))
    return { free: [], chains: [], sameParty }
  const whole = await loadSmallGround(
    db(),
    [...new Set([seatId, ...seated.map((s) => s.seatId)])],
    [...new Set([...ids, ...seated.map((s) => s.pollWorkerId)])],
  )
  const seatOf = new Map(whole.seats.map((s) => [s.id, s]))
  /** Each half that somebody takes of a shared seat is a seat of its own here. */
  const spotOf = (id: string, shift: DayPart) => {
    const seat = seatOf.get(id)!
    return { ...seat, id: spotId(seat, shift), shift }
  }
  const wanted = spotOf(seatId, part)
  const sitting = seated.map(({ pollWorkerId, locked, ...row }) => ({
    spot: spotOf(row.seatId, partIn(row)),
    personId: pollWorkerId,
    locked,
  }))
  const ground = {
    ...whole,
    seats: [wanted, ...sitting.map((s) => s.spot)],
    rules: { ...whole.rules, ...pairRules(pairs, whole.people) },
  }
  const options = ways(ground, wanted.id, sitting)
  const found = await describe(actor, countyId, ground, wanted.id, options)
  const ranks = await nominatedRanks(countyId, seat.position.key, found.free)
  const { pollingPlaceId: placeId, servesOn } = seat
  const judge = roster ? await pairJudgeOf(db(), roster, [placeId], pairs) : null
  return {
    // Whom a party named comes first, in its order; the rest as before.
    free: found.free
      .map((r) => ({
        ...r,
        nominatedAs: ranks.get(r.id) ?? null,
        pairWarnings: judge?.({ leave: [], come: [{ workerId: r.id, placeId, servesOn }] }) ?? [],
      }))
      .sort((a, b) => (a.nominatedAs ?? Number.MAX_VALUE) - (b.nominatedAs ?? Number.MAX_VALUE))
      .slice(0, SHOWN),
    chains: found.chains,
    sameParty,
  }
}

/** Person → rank on the newest list that names them for a position, where the county asks the named first. */
async function nominatedRanks(
  countyId: string,
  positionKey: string,
  people: readonly { id: string }[],
): Promise<Map<string, number>> {
  if ((await rulesOf(db(), countyId)).nominated !== 'first') return new Map()
  const rows = await db().nomination.findMany({
    where: { countyId, positionKey },
    select: { pollWorkerId: true, party: true, listedOn: true, rank: true },
  })
  const newest = new Map<string, string>()
  for (const { party, listedOn } of rows)
    if (listedOn > (newest.get(party) ?? '')) newest.set(party, listedOn)
  const asked = new Set(people.map((p) => p.id))
  return new Map(
    rows
      .filter((row) => row.listedOn === newest.get(row.party) && asked.has(row.pollWorkerId))
      .sort((a, b) => b.rank - a.rank)
      .map((row) => [row.pollWorkerId, row.rank]),
  )
}

interface Sitting {
  spot: RosterSeat
  personId: string
  locked: boolean
}

async function nearestHolders(
  countyId: string,
  seat: {
    servesOn: string
    position: { certificateKey: string }
    pollingPlace: { lat: number; lon: number }
  },
  only: { party: string | null } | null,
): Promise<string[]> {
  const { lat, lon } = seat.pollingPlace
  const squash = Math.cos((lat * Math.PI) / 180) ** 2
  const rows = await db().$queryRaw<{ id: string }[]>`
    SELECT w.id FROM "PollWorker" w
    WHERE w."countyId" = ${countyId} AND w.active AND EXISTS (
      SELECT 1 FROM "CertificateSpan" c WHERE c."pollWorkerId" = w.id
        AND c."certificateKey" = ${seat.position.certificateKey}
        AND c."validFrom" <= ${seat.servesOn} AND (c."validUntil" IS NULL OR c."validUntil" > ${seat.servesOn}))
      AND (NOT ${only !== null} OR w.party IS NOT DISTINCT FROM ${only?.party ?? null}::text)
    ORDER BY (w."homeLat" - ${lat}) ^ 2 + (w."homeLon" - ${lon}) ^ 2 * ${squash} NULLS LAST, w.id
    LIMIT ${NEAREST}`
  return rows.map((r) => r.id)
}

/** The optimiser's call-out: somebody who lives at the place and may do everything sits there and is called out. */
function ways(ground: RosterInstance, seatId: string, sitting: Sitting[]): RepairOption[] {
  const asked = ground.seats.find((s) => s.id === seatId)!
  const place = ground.places.find((p) => p.id === asked.placeId)!
  const instance = RosterInstance.parse({
    ...ground,
    people: [
      ...ground.people,
      {
        id: GONE,
        at: place.at,
        certificates: asked.certificate
          ? [{ key: asked.certificate, spans: [{ from: asked.date, until: null }] }]
          : [],
        skills: asked.skills,
        languages: asked.languages,
        experience: asked.minExperience,
      },
    ],
    locks: sitting.filter((s) => s.locked).map(seatingOf),
  })
  const prepared = prepareRoster(instance, {
    seatings: [{ seatId, personId: GONE, half: asked.shift }, ...sitting.map(seatingOf)],
  })
  // Who sits somewhere as a stranger (not eligible any more) is not free either.
  const strangers = new Set(prepared.strangers.map((s) => s.personId))
  return (repair(prepared, { personId: GONE }, 60)[0]?.options ?? []).filter((option) =>
    option.moves.every((move) => !strangers.has(move.personId)),
  )
}

const seatingOf = ({ spot, personId }: Sitting) => ({ seatId: spot.id, personId, half: spot.shift })

type Described = Omit<Replacement, 'nominatedAs' | 'pairWarnings'>

async function describe(
  actor: Actor,
  countyId: string,
  ground: RosterInstance,
  seatId: string,
  options: RepairOption[],
): Promise<{ free: Described[]; chains: string[] }> {
  const named = new Map(
    (
      await db().pollWorker.findMany({
        where: { id: { in: [...new Set(options.flatMap((o) => o.moves.map((m) => m.personId)))] } },
        select: {
          id: true,
          givenName: true,
          familyName: true,
          countyRef: true,
          phone: true,
          electionsServed: true,
          confidentialAddress: true,
        },
      })
    ).map((w) => [w.id, w]),
  )
  const seats = new Map(
    (
      await db().seat.findMany({
        where: {
          id: {
            in: options.flatMap((o) =>
              [...o.moves.map((m) => m.toSeatId), ...(o.leavesEmpty ? [o.leavesEmpty] : [])].map(bare),
            ),
          },
        },
        select: {
          id: true,
          position: { select: { nameEn: true } },
          pollingPlace: { select: { name: true } },
        },
      })
    ).map((s) => [s.id, `${s.position.nameEn}, ${s.pollingPlace.name}`]),
  )
  const mayRead = can(actor, 'readConfidentialAddress', countyId)
  const at = ground.places.find((p) => p.id === ground.seats.find((s) => s.id === seatId)!.placeId)!.at
  const homeOf = new Map(ground.people.map((p) => [p.id, p.at]))
  const nameOf = (id: string) => `${named.get(id)?.givenName} ${named.get(id)?.familyName}`
  const all = options
    .filter((o) => o.disturbed === 0)
    .map((o): Described => {
      const who = named.get(o.moves[0]!.personId)!
      const home = homeOf.get(who.id) ?? null
      const hidden = who.confidentialAddress && !mayRead
      return {
        id: who.id,
        name: nameOf(who.id),
        countyRef: who.countyRef,
        phone: who.phone,
        electionsServed: who.electionsServed,
        km: hidden || !home || !at ? null : distanceKm(home, at),
        addressProtected: who.confidentialAddress,
      }
    })
  const isHidden = (r: { addressProtected: boolean }) => r.addressProtected && !mayRead
  return {
    free: [
      ...all.filter((r) => !isHidden(r)),
      ...all.filter(isHidden).sort((a, b) => (a.name < b.name ? -1 : 1)),
    ],
    chains: options
      .filter((o) => o.disturbed > 0 && !o.moves.some((m) => named.get(m.personId)?.confidentialAddress))
      .slice(0, 3)
      .map(
        (o) =>
          o.moves
            .map((m) => `${nameOf(m.personId)} to ${seats.get(bare(m.toSeatId)) ?? 'a seat'}`)
            .join('; then ') +
          (o.leavesEmpty
            ? `; that leaves ${seats.get(bare(o.leavesEmpty)) ?? 'a less important seat'} empty`
            : ''),
      ),
  }
}
