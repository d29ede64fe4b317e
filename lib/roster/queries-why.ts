import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { AppError } from '@/lib/kernel/errors'
import type { Ineligibility } from './core/eligibility'
import { explainPerson } from './core/explain-person'
import { prepareRoster } from './core/prepared'
import { loadRosterGround } from './facts'
import { type ElectionHead, getElectionHead } from './queries'

/** Why somebody sits where they sit, or nowhere. */
export interface WhyPerson {
  head: ElectionHead
  name: string
  seated: { place: string; position: string; servesOn: string; locked: boolean }[]
  /** See core/explain-person.ts; `not-active`: no roster looks at them. */
  reason: 'placed' | 'not-eligible' | 'no-seat-left' | 'could-help' | 'not-active'
  /** Seats of the election, and how many of them the person may take. */
  seats: number
  eligibleSeats: number
  /** What rules out the others, by its first reason; most seats first. */
  refused: { why: Ineligibility; seats: number }[]
  places: { id: string; name: string }[]
  /** The place that was asked about: what the cheapest single exchange that brings the person there would change. */
  asked: {
    place: string
    outcome: 'here' | 'not-eligible' | 'no-exchange' | 'exchange'
    position: string | null
    wishes: number
    /** Metres added; null: it would tell where somebody with a protected address lives. */
    metres: number | null
    refused: { why: Ineligibility; seats: number }[]
  } | null
}

/** @throws AppError NOT_FOUND, FORBIDDEN. O(people + seats) to read and O(arcs) to prepare: seconds in a large county. */
export async function getWhyPerson(
  actor: Actor,
  countyId: string,
  electionId: string,
  workerId: string,
  placeId: string | null,
): Promise<WhyPerson> {
  const head = await getElectionHead(actor, countyId, electionId)
  assertCan(actor, 'readPeople', countyId)
  const worker = /^[0-9a-f-]{36}$/.test(workerId)
    ? await db().pollWorker.findUnique({ where: { id: workerId } })
    : null
  if (!worker || worker.countyId !== countyId)
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such person, or they belong to another county.',
    })
  const { instance } = await loadRosterGround(electionId)
  const [places, positions] = await Promise.all([
    db().pollingPlace.findMany({
      where: { id: { in: [...new Set(instance.seats.map((seat) => seat.placeId))] } },
      select: { id: true, code: true, name: true },
      orderBy: { code: 'asc' },
    }),
    db().position.findMany({ where: { countyId }, select: { key: true, nameEn: true } }),
  ])
  const placeName = new Map(places.map((p) => [p.id, `${p.code} ${p.name}`]))
  const positionName = new Map(positions.map((p) => [p.key, p.nameEn]))
  const seatOf = new Map(instance.seats.map((seat) => [seat.id, seat]))
  const answer: WhyPerson = {
    head,
    name: `${worker.givenName} ${worker.familyName}`,
    seated: [],
    reason: 'not-active',
    seats: instance.seats.length,
    eligibleSeats: 0,
    refused: [],
    places: places.map((p) => ({ id: p.id, name: placeName.get(p.id)! })),
    asked: null,
  }
  if (!instance.people.some((person) => person.id === workerId)) return answer
  const wanted = placeId !== null && placeName.has(placeId) ? [placeId] : []
  const people = instance.people.map((person) =>
    person.id === workerId ? { ...person, preferredPlaces: wanted } : person,
  )
  // What an exchange does to a balance tells somebody's party.
  const rules = can(actor, 'readParty', countyId)
    ? instance.rules
    : { ...instance.rules, balance: null, leadDeputySameParty: 0 }
  const found = explainPerson(
    prepareRoster({ ...instance, rules, people }, { seatings: instance.current }),
    workerId,
  )
  const hidden = worker.confidentialAddress && !can(actor, 'readConfidentialAddress', countyId)
  // How many seats are too far away would tell where somebody lives.
  const listed = (refused: Partial<Record<Ineligibility, number>>) =>
    Object.entries(refused)
      .map(([why, seats]) => ({ why: why as Ineligibility, seats }))
      .filter(({ why }) => !(hidden && why === 'travel'))
      .sort((a, b) => b.seats - a.seats)
  const [asked] = found.asked
  return {
    ...answer,
    reason: found.reason,
    eligibleSeats: found.eligibleSeats,
    refused: listed(found.refused),
    seated: found.seated.map(({ seatId, locked }) => {
      const seat = seatOf.get(seatId)!
      return {
        place: placeName.get(seat.placeId)!,
        position: positionName.get(seat.position) ?? seat.position,
        servesOn: seat.date,
        locked,
      }
    }),
    asked: asked
      ? {
          place: placeName.get(asked.placeId)!,
          outcome: asked.outcome,
          position: asked.seatId ? (positionName.get(seatOf.get(asked.seatId)!.position) ?? null) : null,
          wishes: asked.violations,
          metres: hidden ? null : asked.metres,
          refused: listed(asked.refused),
        }
      : null,
  }
}
