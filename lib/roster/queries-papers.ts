import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { type ElectionHead, getElectionHead, getRuns } from './queries'
import { type SpotOf, spotId, spotsOf } from './spot'

/** What leaves the house: the whole roster with phone numbers, and the list of whom to train. */

/** What one person takes: a seat, or one half of a seat that two people share. */
export interface PaperSeat {
  /** Of the spot (lib/roster/spot.ts). */
  id: string
  seatId: string
  placeId: string
  placeCode: string
  placeName: string
  placeAddress: string
  positionName: string
  number: number
  servesOn: string
  shift: string
  person: { name: string; countyRef: string; phone: string | null } | null
}

/** Every seat of the newest roster, by place, day and position, a shared one as its two halves; with `part`, those of
 *  one page of places. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getRosterPaper(
  actor: Actor,
  countyId: string,
  electionId: string,
  part?: { page: number; places: number },
): Promise<{ head: ElectionHead; seats: PaperSeat[]; page: number; pages: number }> {
  const head = await getElectionHead(actor, countyId, electionId)
  const crewed = { countyId, seats: { some: { electionId } } }
  const pages = part
    ? Math.max(1, Math.ceil((await db().pollingPlace.count({ where: crewed })) / part.places))
    : 1
  const page = Math.min(pages, Math.max(1, Math.floor(part?.page ?? 1)))
  const shown = part
    ? await db().pollingPlace.findMany({
        where: crewed,
        select: { id: true },
        orderBy: { code: 'asc' },
        skip: (page - 1) * part.places,
        take: part.places,
      })
    : null
  const rows = await db().seat.findMany({
    where: { electionId, ...(shown ? { pollingPlaceId: { in: shown.map((p) => p.id) } } : {}) },
    include: {
      position: { select: { nameEn: true } },
      pollingPlace: { select: { id: true, code: true, name: true, address: true } },
      seatings: {
        where: { rosterId: head.roster?.id ?? '00000000-0000-0000-0000-000000000000' },
        include: {
          pollWorker: { select: { givenName: true, familyName: true, countyRef: true, phone: true } },
        },
      },
    },
    orderBy: [
      { pollingPlace: { code: 'asc' } },
      { servesOn: 'asc' },
      { position: { rank: 'asc' } },
      { number: 'asc' },
      { shift: 'desc' },
    ],
  })
  return {
    head,
    page,
    pages,
    seats: rows.flatMap((row) => spotsOf(row, row.seatings).map((spot) => paperSeat(row, spot))),
  }

  function paperSeat(
    row: (typeof rows)[number],
    spot: SpotOf<(typeof rows)[number]['seatings'][number]>,
  ): PaperSeat {
    const worker = spot.sitting?.pollWorker
    return {
      id: spotId(row, spot.part),
      seatId: row.id,
      placeId: row.pollingPlace.id,
      placeCode: row.pollingPlace.code,
      placeName: row.pollingPlace.name,
      placeAddress: row.pollingPlace.address,
      positionName: row.position.nameEn,
      number: row.number,
      servesOn: row.servesOn,
      shift: spot.part,
      person: worker
        ? {
            name: `${worker.givenName} ${worker.familyName}`,
            countyRef: worker.countyRef,
            phone: worker.phone,
          }
        : null,
    }
  }
}

export interface TrainingLine {
  personId: string
  name: string
  countyRef: string
  phone: string | null
  certificateName: string
  missing: string[]
  /** Where the person would sit, and the seats that would else stay empty where that is another one. */
  takes: { id: string; text: string }
  seats: { id: string; text: string }[]
  /** Breaches of rules that it mends, where it fills no seat. */
  mends: number
}

/** The training list of the last finished run, with the names as they are now. */
export async function getTrainingList(
  actor: Actor,
  countyId: string,
  electionId: string,
): Promise<{
  head: ElectionHead
  lines: TrainingLine[]
  filled: number
  filledWithTraining: number
  /** Breaches of rules, now and with the training. */
  violations: { before: number; after: number } | null
  seats: number
  ranAt: Date | null
  /** The roster was changed since the run. */
  changedSince: boolean
}> {
  const head = await getElectionHead(actor, countyId, electionId)
  const { done } = await getRuns(electionId)
  const outcome = done?.outcome ?? null
  const steps = outcome?.training ?? []
  const [workers, seats, positions] = await Promise.all([
    db().pollWorker.findMany({
      where: { id: { in: steps.map((s) => s.personId) }, countyId },
      select: { id: true, givenName: true, familyName: true, countyRef: true, phone: true },
    }),
    db().seat.findMany({
      where: { id: { in: steps.flatMap((s) => [s.takesSeatId, ...s.seatIds]) }, electionId },
      include: {
        position: { select: { nameEn: true } },
        pollingPlace: { select: { code: true, name: true } },
      },
    }),
    db().position.findMany({ where: { countyId }, select: { certificateKey: true, nameEn: true } }),
  ])
  const workerOf = new Map(workers.map((w) => [w.id, w]))
  const seatText = new Map(
    seats.map((s) => [s.id, `${s.position.nameEn}, ${s.pollingPlace.code} ${s.pollingPlace.name}`]),
  )
  const certificateName = new Map(positions.map((p) => [p.certificateKey, p.nameEn]))
  return {
    head,
    seats: outcome?.seats ?? 0,
    filled: outcome?.filled ?? 0,
    filledWithTraining: outcome?.filledWithTraining ?? 0,
    violations: outcome?.violations ?? null,
    ranAt: done?.finishedAt ?? null,
    changedSince: outcome !== null && head.mark !== `${outcome.rosterId}:${outcome.revision}`,
    lines: steps.flatMap((step) => {
      const worker = workerOf.get(step.personId)
      if (!worker) return []
      return [
        {
          personId: worker.id,
          name: `${worker.givenName} ${worker.familyName}`,
          countyRef: worker.countyRef,
          phone: worker.phone,
          certificateName: certificateName.get(step.certificateKey) ?? step.certificateKey,
          missing: step.missing.map((m) => m.en),
          takes: { id: step.takesSeatId, text: seatText.get(step.takesSeatId) ?? '' },
          seats: step.seatIds
            .filter((id) => id !== step.takesSeatId)
            .map((id) => ({ id, text: seatText.get(id) ?? '' })),
          mends: step.mends,
        },
      ]
    }),
  }
}
