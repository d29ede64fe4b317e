import type { Actor } from '@/lib/auth/actor'
import { can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { AppError } from '@/lib/kernel/errors'
import type { Prisma } from '@/prisma/client/client'
import { ineligibility, metresBetween } from './core/eligibility'
import { listMisplaced, loadSmallGround } from './facts'
import { type HalfOfDay, siftPeople } from './facts-sift'
import { halvesOf } from './instance'
import { type BoardSeat, type ElectionHead, getElectionHead, getRuns, listBoardSeats } from './queries'
import { refusalOf, SHIFT_WORDS } from './words'

const SWAP_LIMIT = 12

export interface Candidate {
  id: string
  name: string
  countyRef: string
  phone: string | null
  electionsServed: number
  /** One way, straight line; null: unknown or protected. */
  km: number | null
  addressProtected: boolean
  /** Where they sit at that time already. */
  elsewhere: { seatId: string; text: string; locked: boolean } | null
  /** Why not; null: may sit here. */
  refusal: string | null
}

export interface SwapOption {
  seatId: string
  text: string
  person: string
  /** Travel of both together after the change minus before, one way; null where an address is protected. */
  changeKm: number | null
}

export interface SeatPage {
  head: ElectionHead
  place: { id: string; code: string; name: string; address: string }
  seat: BoardSeat
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
  seatId: string,
  name: string,
): Promise<SeatPage> {
  const head = await getElectionHead(actor, countyId, electionId)
  const row = /^[0-9a-f-]{36}$/.test(seatId)
    ? await db().seat.findUnique({ where: { id: seatId }, include: { pollingPlace: true, position: true } })
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
  const half = { seatId, shift: row.shift, servesOn: row.servesOn }
  const [runs, wrong, active, sifted] = await Promise.all([
    getRuns(electionId),
    rosterId ? listMisplaced(db(), rosterId, row.pollingPlaceId) : [],
    db().pollWorker.count({ where: { countyId, active: true } }),
    siftPeople(
      db(),
      countyId,
      rosterId,
      { ...half, place: row.pollingPlace, certificateKey },
      !mayReadProtected,
    ),
  ])
  const crew = await listBoardSeats(electionId, rosterId, [row.pollingPlaceId], new Set(wrong), runs.done)
  const seat = crew.find((s) => s.id === seatId)!
  const sieve = [
    { text: 'active people in the county', people: active },
    { text: `hold the certificate for ${row.position.nameEn} on that day`, people: sifted.holders },
    { text: `may serve there and are available for the ${SHIFT_WORDS[row.shift]}`, people: sifted.available },
    { text: 'live near enough to the place for them', people: sifted.near },
    { text: 'do not sit in another seat at that time', people: sifted.free },
  ]
  const asked = { id: seatId, positionName: row.position.nameEn, onText: row.servesOn }
  const people = (
    await describePeople(
      [...new Set([...sifted.picks, ...sifted.seated])],
      asked,
      half,
      rosterId,
      mayReadProtected,
    )
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
    found = await describePeople(ids, asked, half, rosterId, mayReadProtected)
  }
  return {
    head,
    place: {
      id: row.pollingPlaceId,
      code: row.pollingPlace.code,
      name: row.pollingPlace.name,
      address: row.pollingPlace.address,
    },
    seat,
    certificateKey,
    sieve,
    candidates,
    more: sifted.others - candidates.length,
    found,
    swaps:
      seat.person && seat.state === 'filled'
        ? await listSwaps(seatId, seat.person.id, people, mayReadProtected)
        : [],
  }
}

type Busy = Map<string, { seatId: string; text: string; locked: boolean }>

/** Person → the seat that they have at that time. */
async function listBusy(rosterId: string, seat: HalfOfDay, workerIds: string[]): Promise<Busy> {
  const halves = halvesOf(seat.shift, seat.servesOn)
  const rows = await db().seating.findMany({
    where: {
      rosterId,
      pollWorkerId: { in: workerIds },
      seatId: { not: seat.seatId },
      OR: [
        ...(halves.morningOn ? [{ morningOn: halves.morningOn }] : []),
        ...(halves.afternoonOn ? [{ afternoonOn: halves.afternoonOn }] : []),
      ],
    },
    select: {
      pollWorkerId: true,
      seatId: true,
      locked: true,
      seat: { select: { position: { select: { nameEn: true } }, pollingPlace: { select: { name: true } } } },
    },
  })
  return new Map(
    rows.map((r) => [
      r.pollWorkerId,
      {
        seatId: r.seatId,
        text: `${r.seat.position.nameEn}, ${r.seat.pollingPlace.name}`,
        locked: r.locked,
      },
    ]),
  )
}

/** What a clerk is told about each of these people for one seat, checked by the rules one by one. */
async function describePeople(
  ids: string[],
  seat: { id: string; positionName: string; onText: string },
  half: HalfOfDay,
  rosterId: string | null,
  mayReadProtected: boolean,
): Promise<Candidate[]> {
  const [instance, busy, rows] = await Promise.all([
    loadSmallGround(db(), [seat.id], ids),
    rosterId ? listBusy(rosterId, half, ids) : (new Map() as Busy),
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
      refusal: refusalOf(instance, who, seat)?.sentence ?? null,
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
  const instance = await loadSmallGround(
    db(),
    [seatId, ...others.map((p) => p.elsewhere!.seatId)],
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
    const seat = seats.get(other.elsewhere!.seatId)!
    const half = seat.shift === 'full' ? 0 : seat.shift === 'morning' ? 1 : 2
    if (ineligibility(instance, person, seat, half) !== null) return []
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
        seatId: seat.id,
        text: other.elsewhere!.text,
        person: other.name,
        changeKm: hidden ? null : metres / 1000,
      },
    ]
  })
  return options.sort((a, b) => (a.changeKm ?? 1e9) - (b.changeKm ?? 1e9)).slice(0, SWAP_LIMIT)
}
