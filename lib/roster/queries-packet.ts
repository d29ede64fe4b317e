import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { REACH_COLUMNS, reachOf } from '@/lib/people/reach'
import { Prisma } from '@/prisma/client/client'
import { silentSince } from './commands-run'
import type { PacketGround, PacketPlace, StandbyPerson } from './papers/ground'
import { type ElectionHead, getElectionHead } from './queries'
import { spotId, spotsOf } from './spot'

const NO_ROSTER = '00000000-0000-0000-0000-000000000000'

/** What the papers of an election say, for one place or for all, in one snapshot. Authorises nobody: for the job that
 *  somebody was allowed to ask for, and for `getPacketGround`. @throws AppError NOT_FOUND */
export async function loadPacketGround(electionId: string, placeId?: string): Promise<PacketGround> {
  return db().$transaction(
    async (tx) => {
      const election = await tx.election.findUnique({ where: { id: electionId }, include: { county: true } })
      if (!election) throw new AppError('NOT_FOUND', { userMessage: 'There is no such election.' })
      const { county, countyId } = election
      const roster = await tx.roster.findFirst({ where: { electionId }, orderBy: { version: 'desc' } })
      const places = await tx.pollingPlace.findMany({
        where: { countyId, seats: { some: { electionId } } },
        include: { openings: true, equipment: true, precincts: { select: { code: true } } },
        orderBy: { code: 'asc' },
      })
      const seats = await tx.seat.findMany({
        where: { electionId, ...(placeId ? { pollingPlaceId: placeId } : {}) },
        select: {
          id: true,
          pollingPlaceId: true,
          servesOn: true,
          shift: true,
          number: true,
          position: { select: { nameEn: true, nameEs: true } },
          seatings: {
            where: { rosterId: roster?.id ?? NO_ROSTER },
            select: {
              morningOn: true,
              afternoonOn: true,
              pollWorker: {
                select: { id: true, givenName: true, familyName: true, phone: true, ...REACH_COLUMNS },
              },
            },
          },
        },
        orderBy: [{ servesOn: 'asc' }, { position: { rank: 'asc' } }, { number: 'asc' }, { shift: 'desc' }],
      })
      const seatsOf = new Map<string, PacketPlace['seats']>()
      for (const seat of seats) {
        const own = seatsOf.get(seat.pollingPlaceId) ?? []
        for (const { part, sitting } of spotsOf(seat, seat.seatings)) {
          const worker = sitting?.pollWorker
          own.push({
            id: spotId(seat, part),
            seatId: seat.id,
            positionName: { en: seat.position.nameEn, es: seat.position.nameEs },
            number: seat.number,
            servesOn: seat.servesOn as CivilDate,
            shift: part,
            person: worker
              ? {
                  id: worker.id,
                  name: `${worker.givenName} ${worker.familyName}`,
                  phone: worker.phone,
                  locale: reachOf(worker).locale,
                }
              : null,
          })
        }
        seatsOf.set(seat.pollingPlaceId, own)
      }
      const now = systemClock.now()
      // As the county entered it for its offers.
      const { officePhone: phone, changeAt } =
        (county.settings as { offers?: { officePhone?: unknown; changeAt?: unknown } }).offers ?? {}
      return {
        countyName: county.name,
        officePhone: typeof phone === 'string' && phone !== '' ? phone : null,
        changeAt: typeof changeAt === 'string' && changeAt !== '' ? changeAt : '13:00',
        electionName: election.name,
        heldOn: election.heldOn as CivilDate,
        version: roster?.version ?? 0,
        published: Boolean(roster?.publishedAt),
        revision: roster?.revision ?? 0,
        madeAt: now.toISOString(),
        printedOn: civilDateAt(now, county.timeZone),
        places: places.map((place) => ({
          id: place.id,
          code: place.code,
          name: place.name,
          address: place.address,
          lat: place.lat,
          lon: place.lon,
          located: place.located,
          equipmentProfile: place.equipmentProfile,
          contactName: place.contactName,
          contactPhone: place.contactPhone,
          keysNote: place.keysNote,
          hours: place.openings.map(hoursText),
          devices: place.equipment.map((e) => ({
            kind: e.kind,
            profile: e.equipmentProfile,
            count: e.count,
          })),
          precincts: place.precincts.map((p) => p.code).sort(),
          seats: seatsOf.get(place.id) ?? [],
        })),
        standby: placeId ? [] : await listStandby(tx, countyId, election.heldOn, roster?.id ?? NO_ROSTER),
      }
    },
    { isolationLevel: Prisma.TransactionIsolationLevel.RepeatableRead, timeout: 60_000 },
  )
}

const hoursText = (o: { firstOn: string | null; lastOn: string | null; opensAt: string; closesAt: string }) =>
  `${o.firstOn ? `${o.firstOn}${o.lastOn && o.lastOn !== o.firstOn ? ` to ${o.lastOn}` : ''}, ` : ''}${o.opensAt} to ${o.closesAt}`

/** Active people who hold a certificate on election day, are not away then, and sit nowhere in the roster on it; those
 *  who may do most first. */
async function listStandby(
  tx: Prisma.TransactionClient,
  countyId: string,
  heldOn: string,
  rosterId: string,
): Promise<StandbyPerson[]> {
  return tx.$queryRaw<StandbyPerson[]>`
    SELECT w."givenName" || ' ' || w."familyName" AS name, w.phone, w.languages, w."offersShift" AS shift,
      array_agg(DISTINCT p."nameEn") AS positions
    FROM "PollWorker" w
    JOIN "CertificateSpan" c ON c."pollWorkerId" = w.id AND c."validFrom" <= ${heldOn}
      AND (c."validUntil" IS NULL OR c."validUntil" > ${heldOn})
    JOIN "Position" p ON p."countyId" = w."countyId" AND p."certificateKey" = c."certificateKey"
    WHERE w."countyId" = ${countyId} AND w.active AND NOT ${heldOn} = ANY(w."unavailableOn")
      AND NOT EXISTS (
        SELECT 1 FROM "Seating" g WHERE g."rosterId" = ${rosterId}::uuid AND g."pollWorkerId" = w.id
          AND (g."morningOn" = ${heldOn} OR g."afternoonOn" = ${heldOn}))
      AND NOT EXISTS (
        SELECT 1 FROM "Exclusion" x WHERE x."pollWorkerId" = w.id AND x."pollingPlaceId" IS NULL
          AND x."takenBackAt" IS NULL AND x."firstOn" <= ${heldOn} AND (x."lastOn" IS NULL OR x."lastOn" >= ${heldOn}))
    GROUP BY w.id ORDER BY count(DISTINCT p.id) DESC, w."familyName", w."givenName"`
}

/** The same for somebody who asks. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getPlacePacket(
  actor: Actor,
  countyId: string,
  electionId: string,
  placeId: string,
): Promise<{ ground: PacketGround; place: PacketPlace }> {
  await getElectionHead(actor, countyId, electionId)
  const ground = /^[0-9a-f-]{36}$/.test(placeId) ? await loadPacketGround(electionId, placeId) : null
  const place = ground?.places.find((p) => p.id === placeId)
  if (!ground || !place)
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such place in this election, or it belongs to another county.',
    })
  return { ground, place }
}

export interface OrderView {
  id: string
  status: 'queued' | 'running' | 'done' | 'failed' | 'cancelled'
  stage: string
  /** 0 to 1. */
  progress: number
  cancelAsked: boolean
  createdAt: Date
  finishedAt: Date | null
  failure: string | null
  /** What they say has changed since. */
  outdated: boolean
  files: { number: number; name: string; title: string; pages: number; bytes: number }[]
}

export interface PapersPage {
  head: ElectionHead
  places: { id: string; code: string; name: string }[]
  matching: number
  /** The newest packet, and the newest one that is done where that is another. */
  newest: OrderView | null
  done: OrderView | null
}

const PLACES_SHOWN = 25

export async function getPapersPage(
  actor: Actor,
  countyId: string,
  electionId: string,
  name: string,
): Promise<PapersPage> {
  const head = await getElectionHead(actor, countyId, electionId)
  const words = name.trim()
  const where = {
    countyId,
    seats: { some: { electionId } },
    ...(words
      ? {
          OR: [
            { name: { contains: words, mode: 'insensitive' as const } },
            { code: { startsWith: words, mode: 'insensitive' as const } },
          ],
        }
      : {}),
  }
  const [places, matching, orders] = await Promise.all([
    db().pollingPlace.findMany({
      where,
      select: { id: true, code: true, name: true },
      orderBy: { code: 'asc' },
      take: PLACES_SHOWN,
    }),
    db().pollingPlace.count({ where }),
    listOrders(electionId, head.mark),
  ])
  return { head, places, matching, ...orders }
}

export const listOrders = async (electionId: string, mark: string): Promise<NewestOrders> =>
  newestOf(
    await listOrderRows({ electionId, sendingId: null }),
    (row) => `${row.rosterId}:${row.revision}` !== mark,
  )

export interface NewestOrders {
  newest: OrderView | null
  done: OrderView | null
}

type OrderRow = Awaited<ReturnType<typeof listOrderRows>>[number]

/** The newest orders of papers, without what is in their files. */
export const listOrderRows = (where: Prisma.PaperOrderWhereInput) =>
  db().paperOrder.findMany({
    where,
    orderBy: [{ createdAt: 'desc' }, { id: 'desc' }],
    take: 20,
    include: { files: { omit: { content: true }, orderBy: { number: 'asc' } } },
  })

export function newestOf(rows: readonly OrderRow[], isOutdated: (row: OrderRow) => boolean): NewestOrders {
  const since = silentSince(systemClock.now())
  const views = rows.map((row): OrderView => {
    const silent = row.status === 'running' && row.heartbeatAt !== null && row.heartbeatAt < since
    return {
      ...row,
      status: silent ? 'failed' : row.status,
      failure: silent ? 'Making these papers ended before it was finished. Ask for them again.' : row.failure,
      outdated: isOutdated(row),
    }
  })
  return { newest: views[0] ?? null, done: views.find((v) => v.status === 'done') ?? null }
}

/** One file of a packet. The address names the election, so that the county decides. @throws AppError NOT_FOUND */
export async function getPaperFile(
  actor: Actor,
  countyId: string,
  electionId: string,
  orderId: string,
  number: number,
): Promise<{ name: string; content: Uint8Array }> {
  await getElectionHead(actor, countyId, electionId)
  assertCan(actor, 'readRoster', countyId)
  const file =
    /^[0-9a-f-]{36}$/.test(orderId) && Number.isInteger(number)
      ? await db().paperFile.findFirst({
          where: { orderId, number, order: { electionId, countyId, sendingId: null, status: 'done' } },
          select: { name: true, content: true },
        })
      : null
  if (!file)
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such file: a newer packet may have taken its place. Look at the papers page.',
    })
  return file
}
