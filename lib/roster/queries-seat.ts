import type { Actor } from '@/lib/auth/actor'
import { can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { atThatTime, type DayPart, partIn } from '@/lib/kernel/day-parts'
import { AppError } from '@/lib/kernel/errors'
import type { Prisma } from '@/prisma/client/client'
import { halfCode, ineligibility, metresBetween } from './core/eligibility'
import { listMisplaced, loadSmallGround } from './facts'
import { type HalfOfDay, siftPeople } from './facts-sift'
import { type BoardSeat, type ElectionHead, getElectionHead, getRuns, listBoardSeats } from './queries'
import { getCrewWarnings, NO_WARNINGS, type Warnings } from './queries-crews'
import { partOf, readSpot, spotId, spotsOf } from './spot'
import { refusalOf, SHIFT_WORDS } from './words'

const SWAP_LIMIT = 12

interface Elsewhere {
  seatId: string
  placeId: string
  part: DayPart
  text: string
  locked: boolean
}

export interface Candidate extends Warnings {
  id: string
  name: string
  countyRef: string
  phone: string | null
  electionsServed: number
  /** One way, straight line; null: unknown or protected. */
  km: number | null
  addressProtected: boolean
  /** Where they sit at that time already. */
  elsewhere: Elsewhere | null
  /** Why not; null: may sit here. */
  refusal: string | null
}

export interface SwapOption extends Warnings {
  seatId: string
  text: string
  person: string
  personId: string
  /** Travel of both together after the change minus before, one way; null where an address is protected. */
  changeKm: number | null
}

export interface SeatPage {
  head: ElectionHead
  place: { id: string; code: string; name: string; address: string }
  seat: BoardSeat
  /** Of a seat that two people share, or that has one half empty. */
  otherHalf: BoardSeat | null
  certificateKey: string
  /** How many people are left after each question, in words. */
  sieve: { text: string; people: number }[]
  candidates: Candidate[]
  /** How many more may sit there, further away. */
  more: number
  /** People found by name, eligible or not, when a name was asked for. */
  found: Candidate[] | null
  swaps: SwapOption[]
}

/** Everything about one seat: who sits there, why it is empty, who could sit there (nearest first), with whom its
 *  person could change. People whose address is protected come last, in name order: their place in a list by distance
 *  would tell where they live. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getSeatPage(
  actor: Actor,
  countyId: string,
  electionId: string,
  spot: string,
  name: string,
): Promise<SeatPage> {
  const head = await getElectionHead(actor, countyId, electionId)
  const asked = readSpot(spot)
  const row = asked
    ? await db().seat.findUnique({
        where: { id: asked.seatId },
        include: { pollingPlace: true, position: true },
      })
    : null
  if (!row || row.electionId !== electionId)
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such seat, or it belongs to another county.',
    })
  const rosterId = head.roster?.id ?? null
  const certificateKey = row.position.certificateKey
  const mayReadProtected = can(actor, 'readConfidentialAddress', countyId)
  const words = name.trim().split(/\s+/).filter(Boolean).slice(0, 4)
  const named: Prisma.PollWorkerWhereInput | null =
    words.length > 0
      ? {
          countyId,
          AND: words.map((word) => ({
            OR: (['givenName', 'familyName', 'countyRef'] as const).map((column) => ({
              [column]: { startsWith: word, mode: 'insensitive' as const },
            })),
          })),
        }
      : null
  const part = await partAsked(rosterId, row, asked!.half)
  const wanted = { seatId: row.id, part, servesOn: row.servesOn }
  const [runs, wrong, active, sifted] = await Promise.all([
    getRuns(electionId),
    rosterId ? listMisplaced(db(), rosterId, row.pollingPlaceId) : [],
    db().pollWorker.count({ where: { countyId, active: true } }),
    siftPeople(
      db(),
      countyId,
      rosterId,
      { ...wanted, place: row.pollingPlace, certificateKey },
      !mayReadProtected,
    ),
  ])
  const crew = await listBoardSeats(electionId, rosterId, [row.pollingPlaceId], new Set(wrong), runs.done)
  const own = crew.filter((s) => s.seatId === row.id)
  const seat = own.find((s) => s.shift === part) ?? halfOf(own[0]!, part)
  const sieve = [
    { text: 'active people in the county', people: active },
    { text: `with the certificate for ${row.position.nameEn} on that day`, people: sifted.holders },
    { text: `allowed to serve there and available for the ${SHIFT_WORDS[part]}`, people: sifted.available },
    { text: 'near enough to the place for them', people: sifted.near },
    { text: 'without another seat at that time', people: sifted.free },
  ]
  const shown = { ...wanted, positionName: row.position.nameEn }
  const people = (
    await describePeople([...new Set([...sifted.picks, ...sifted.seated])], shown, rosterId, mayReadProtected)
  ).filter((p) => p.refusal === null)
  const picks = new Set(sifted.picks)
  const order = (a: Candidate, b: Candidate) =>
    Number(a.elsewhere !== null) - Number(b.elsewhere !== null) ||
    Number(a.addressProtected && !mayReadProtected) - Number(b.addressProtected && !mayReadProtected) ||
    (a.km ?? 1e9) - (b.km ?? 1e9) ||
    (a.name < b.name ? -1 : 1)
  const candidates = people.filter((p) => picks.has(p.id)).sort(order)
  let found: Candidate[] | null = null
  if (named) {
    const ids = (
      await db().pollWorker.findMany({
        where: named,
        select: { id: true },
        orderBy: [{ familyName: 'asc' }, { givenName: 'asc' }],
        take: 20,
      })
    ).map((p) => p.id)
    found = await describePeople(ids, shown, rosterId, mayReadProtected)
  }
  const swaps =
    seat.person && seat.state === 'filled'
      ? await listSwaps(row.id, seat.person.id, people, mayReadProtected)
      : []
  const against = await getCrewWarnings(
    actor,
    head,
    {
      spot: seat.id,
      placeId: row.pollingPlaceId,
      servesOn: row.servesOn,
      personId: seat.person?.id ?? null,
    },
    [...people, ...(found ?? [])],
  )
  const warned = (person: Candidate): Candidate => ({ ...person, ...against.coming(person) })
  const comers = new Map(people.map((person) => [person.id, person]))
  return {
    head,
    place: {
      id: row.pollingPlaceId,
      code: row.pollingPlace.code,
      name: row.pollingPlace.name,
      address: row.pollingPlace.address,
    },
    seat,
    otherHalf: own.find((s) => s.isHalf && s.id !== seat.id) ?? null,
    certificateKey,
    sieve,
    candidates: candidates.map(warned),
    more: sifted.others - candidates.length,
    found: found?.map(warned) ?? null,
    swaps: swaps.map((swap) => ({ ...swap, ...against.changing(comers.get(swap.personId)!) })),
  }
}

/** What of a seat's day is asked about. Where somebody sits there, it is divided as they take it; an empty one as one
 *  likes. */
async function partAsked(
  rosterId: string | null,
  seat: { id: string; shift: string },
  half: 'morning' | 'afternoon' | null,
): Promise<DayPart> {
  const rows = rosterId ? await db().seating.findMany({ where: { rosterId, seatId: seat.id } }) : []
  const parts = rows.length > 0 ? spotsOf(seat, rows).map((spot) => spot.part) : [partOf(seat, half)]
  return parts.find((part) => part === half) ?? parts[0]!
}

/** A spot that the roster doesn't have yet: one half of an empty seat. */
const halfOf = (empty: BoardSeat, part: DayPart): BoardSeat => ({
  ...empty,
  id: spotId({ id: empty.seatId, shift: 'full' }, part),
  shift: part,
  isHalf: true,
})

type Busy = Map<string, Elsewhere>

/** Person → the spot that they have at that time. */
async function listBusy(rosterId: string, seat: HalfOfDay, workerIds: string[]): Promise<Busy> {
  const rows = await db().seating.findMany({
    where: {
      rosterId,
      pollWorkerId: { in: workerIds },
      seatId: { not: seat.seatId },
      ...atThatTime(seat.part, seat.servesOn),
    },
    select: {
      pollWorkerId: true,
      seatId: true,
      locked: true,
      morningOn: true,
      afternoonOn: true,
      seat: {
        select: {
          shift: true,
          pollingPlaceId: true,
          position: { select: { nameEn: true } },
          pollingPlace: { select: { name: true } },
        },
      },
    },
  })
  return new Map(
    rows.map((r) => {
      const part = partIn(r)
      const when = part === 'full' ? '' : `, ${SHIFT_WORDS[part]}`
      return [
        r.pollWorkerId,
        {
          seatId: spotId({ id: r.seatId, shift: r.seat.shift }, part),
          placeId: r.seat.pollingPlaceId,
          part,
          text: `${r.seat.position.nameEn}${when}, ${r.seat.pollingPlace.name}`,
          locked: r.locked,
        },
      ]
    }),
  )
}

/** What a clerk is told about each of these people for one seat, checked by the rules one by one. */
async function describePeople(
  ids: string[],
  seat: HalfOfDay & { positionName: string },
  rosterId: string | null,
  mayReadProtected: boolean,
): Promise<Candidate[]> {
  const [instance, busy, rows] = await Promise.all([
    loadSmallGround(db(), [seat.seatId], ids),
    rosterId ? listBusy(rosterId, seat, ids) : (new Map() as Busy),
    db().pollWorker.findMany({
      where: { id: { in: ids } },
      select: {
        id: true,
        givenName: true,
        familyName: true,
        countyRef: true,
        phone: true,
        electionsServed: true,
        confidentialAddress: true,
      },
    }),
  ])
  const place = instance.places[0]!
  const asked = { ...seat, id: seat.seatId }
  const homeOf = new Map(instance.people.map((p) => [p.id, p.at]))
  return rows.map((row) => {
    const at = homeOf.get(row.id) ?? null
    const hidden = row.confidentialAddress && !mayReadProtected
    const who = {
      id: row.id,
      name: `${row.givenName} ${row.familyName}`,
      addressProtected: row.confidentialAddress,
    }
    return {
      ...who,
      countyRef: row.countyRef,
      phone: row.phone,
      electionsServed: row.electionsServed,
      km: hidden || at === null ? null : metresBetween(at, place.at) / 1000,
      elsewhere: busy.get(row.id) ?? null,
      refusal: refusalOf(instance, who, asked)?.sentence ?? null,
      ...NO_WARNINGS,
    }
  })
}

/** With whom the person of a seat could change: each is allowed where the other sits. Least travel first. */
async function listSwaps(
  seatId: string,
  personId: string,
  people: Candidate[],
  mayReadProtected: boolean,
): Promise<SwapOption[]> {
  const others = people.filter((p) => p.elsewhere && !p.elsewhere.locked)
  if (others.length === 0) return []
  const bare = (other: Candidate) => readSpot(other.elsewhere!.seatId)!.seatId
  const instance = await loadSmallGround(
    db(),
    [seatId, ...others.map(bare)],
    [personId, ...others.map((p) => p.id)],
  )
  const person = instance.people.find((p) => p.id === personId)
  if (!person) return []
  const seats = new Map(instance.seats.map((s) => [s.id, s]))
  const places = new Map(instance.places.map((p) => [p.id, p]))
  const persons = new Map(instance.people.map((p) => [p.id, p]))
  const here = places.get(seats.get(seatId)!.placeId)!
  const isProtected =
    !mayReadProtected &&
    (await db().pollWorker.findUnique({ where: { id: personId }, select: { confidentialAddress: true } }))
      ?.confidentialAddress
  const options = others.flatMap((other) => {
    const { part } = other.elsewhere!
    const seat = { ...seats.get(bare(other))!, shift: part }
    if (ineligibility(instance, person, seat, halfCode(part)) !== null) return []
    const there = places.get(seat.placeId)!
    const at = persons.get(other.id)!.at
    const metres =
      metresBetween(person.at, there.at) +
      metresBetween(at, here.at) -
      metresBetween(person.at, here.at) -
      metresBetween(at, there.at)
    const hidden = isProtected || (other.addressProtected && !mayReadProtected)
    return [
      {
        seatId: other.elsewhere!.seatId,
        text: other.elsewhere!.text,
        person: other.name,
        personId: other.id,
        changeKm: hidden ? null : metres / 1000,
        ...NO_WARNINGS,
      },
    ]
  })
  return options.sort((a, b) => (a.changeKm ?? 1e9) - (b.changeKm ?? 1e9)).slice(0, SWAP_LIMIT)
}
