import type { Tx } from '@/lib/db/client'
import { type DayPart, overlap, partIn } from '@/lib/kernel/day-parts'
import { balancedParty, countyRosterRulesOf } from './county-rules'
import { settingsOf } from './facts'
import {
  type Counts,
  isAboutParties,
  type MissedWish,
  missedOf,
  type RosterKeys,
  wishesNothing,
} from './facts-wishes'
import { partOf, readSpot } from './spot'
import { wishWords } from './wish-words'

/** Somebody who would leave or take a spot. */
export interface SpotTaken {
  workerId: string
  spot: string
}

/** Which sentences a change of some spots calls for, because a crew would miss more of the county's wishes. */
export type WishJudge = (change: { leave: SpotTaken[]; come: SpotTaken[] }) => string[]

interface Member {
  workerId: string
  seatId: string
  part: DayPart
}

/** For changes among some places and people. Null where the county wishes nothing. Of parties nothing is told where
 *  `tellsParties` is false. */
export async function loadWishJudge(
  tx: Tx,
  roster: RosterKeys,
  placeIds: readonly string[],
  workerIds: readonly string[],
  tellsParties: boolean,
): Promise<WishJudge | null> {
  const wishes = countyRosterRulesOf(await settingsOf(tx, roster.countyId))
  if (wishesNothing(wishes)) return null
  const seats = await tx.seat.findMany({
    where: { electionId: roster.electionId, pollingPlaceId: { in: [...placeIds] } },
    select: {
      id: true,
      shift: true,
      servesOn: true,
      position: { select: { rank: true, key: true } },
      pollingPlace: { select: { id: true, code: true, name: true } },
      seatings: {
        where: { rosterId: roster.id },
        select: { pollWorkerId: true, morningOn: true, afternoonOn: true },
      },
    },
  })
  const seatOf = new Map(seats.map((seat) => [seat.id, seat]))
  const members = seats.flatMap((seat) =>
    seat.seatings.map((row) => ({ workerId: row.pollWorkerId, seatId: seat.id, part: partIn(row) })),
  )
  const workers = await tx.pollWorker.findMany({
    where: {
      countyId: roster.countyId,
      id: { in: [...new Set([...members.map((m) => m.workerId), ...workerIds])] },
    },
    select: { id: true, party: true, languages: true, electionsServed: true },
  })
  const workerOf = new Map(
    workers.map((w) => {
      const party = balancedParty(wishes, w.party)
      return [w.id, { ...w, side: party === null ? null : party === wishes.firstParty ? 'first' : 'second' }]
    }),
  )
  const crewOf = (seatId: string) => {
    const seat = seatOf.get(seatId)!
    return `${seat.pollingPlace.id} ${seat.servesOn}`
  }

  const countsOf = (crew: readonly Member[]): Counts => {
    const facts = crew.map(({ workerId, seatId, part }) => {
      const { rank, key } = seatOf.get(seatId)!.position
      const isLead = rank === 1
      return { ...workerOf.get(workerId)!, part, isLead, isDeputy: !isLead && key === wishes.deputy }
    })
    type Fact = (typeof facts)[number]
    const number = (is: (fact: Fact) => boolean) => facts.filter(is).length
    const there = (side: string, other: DayPart) => number((f) => f.side === side && f.part !== other)
    const onDuty = (f: Fact) => f.isLead || f.isDeputy
    return {
      firstMorning: there('first', 'afternoon'),
      secondMorning: there('second', 'afternoon'),
      firstAfternoon: there('first', 'morning'),
      secondAfternoon: there('second', 'morning'),
      leads: number((f) => f.isLead),
      deputies: number((f) => f.isDeputy),
      dutyFirst: number((f) => f.side === 'first' && onDuty(f)),
      dutySecond: number((f) => f.side === 'second' && onDuty(f)),
      speakers: number((f) => f.languages.includes(wishes.language)),
      experienced: number((f) => f.electionsServed >= wishes.elections),
    }
  }
  const missedIn = (crew: readonly Member[]): MissedWish[] =>
    missedOf(wishes, countsOf(crew)).filter((wish) => tellsParties || !isAboutParties(wish))
  const crewsOf = (of: readonly Member[]) => {
    const crews = new Map<string, Member[]>()
    for (const m of of) crews.set(crewOf(m.seatId), [...(crews.get(crewOf(m.seatId)) ?? []), m])
    return crews
  }
  const sitting = crewsOf(members)
  const memberOf = ({ workerId, spot }: SpotTaken): Member[] => {
    const read = readSpot(spot)
    const seat = read && seatOf.get(read.seatId)
    return seat && workerOf.has(workerId)
      ? [{ workerId, seatId: seat.id, part: partOf(seat, read.half) }]
      : []
  }
  const size = (wish: MissedWish | undefined) => (!wish ? 0 : 'people' in wish ? wish.people : 1)

  return ({ leave, come }) => {
    const leaving = leave.flatMap(memberOf)
    const arriving = come.flatMap(memberOf)
    const goes = (m: Member) =>
      leaving.some((g) => g.workerId === m.workerId && g.seatId === m.seatId && overlap(g.part, m.part))
    const touched = crewsOf([...leaving, ...arriving])
    return [...touched].flatMap(([crew, [one]]) => {
      const now = sitting.get(crew) ?? []
      const before = missedIn(now)
      const after = [...now.filter((m) => !goes(m)), ...arriving.filter((m) => crewOf(m.seatId) === crew)]
      const { code, name } = seatOf.get(one!.seatId)!.pollingPlace
      return missedIn(after)
        .filter((wish) => size(wish) > size(before.find(({ kind }) => kind === wish.kind)))
        .map((wish) => `Then at ${code} ${name}: ${wishWords(wish)}.`)
    })
  }
}
