import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { offerSettingsOf } from '@/lib/offers/schema'
import { traineeOrThrow } from '@/lib/scenarios/queries'

export interface Correction {
  id: string
  text: string
  askedOn: CivilDate
  /** Null: still open. */
  answeredOn: CivilDate | null
  answer: string
}

export interface AskedCorrection extends Correction {
  workerId: string
  name: string
}

const order = [
  { answeredAt: { sort: 'desc' as const, nulls: 'first' as const } },
  { askedAt: 'asc' as const },
]

type Row = { id: string; text: string; askedAt: Date; answeredAt: Date | null; answer: string }
const shown = (row: Row, timeZone: string): Correction => ({
  id: row.id,
  text: row.text,
  askedOn: civilDateAt(row.askedAt, timeZone),
  answeredOn: row.answeredAt && civilDateAt(row.answeredAt, timeZone),
  answer: row.answer,
})

export interface MyCorrections {
  /** The open ones first. */
  requests: Correction[]
  /** Whom to call instead; the phone may be empty. */
  office: { name: string; phone: string }
}

/** What the signed-in person asked for. @throws AppError NOT_FOUND */
export async function getMyCorrections(actor: Actor): Promise<MyCorrections> {
  const { id: pollWorkerId, county } = await traineeOrThrow(db(), actor)
  const rows = await db().correctionRequest.findMany({ where: { pollWorkerId }, orderBy: order })
  return {
    requests: rows.map((row) => shown(row, county.timeZone)),
    office: { name: county.name, phone: offerSettingsOf(county.settings).officePhone },
  }
}

/** What people of a county ask for and nobody has answered, the longest waiting first; of one person, where it is given.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export async function listAskedCorrections(
  actor: Actor,
  countyId: string,
  workerId?: string,
): Promise<AskedCorrection[]> {
  assertCan(actor, 'changePeople', countyId)
  const rows = await db().correctionRequest.findMany({
    where: { countyId, answeredAt: null, ...(workerId ? { pollWorkerId: workerId } : {}) },
    include: { pollWorker: { select: { givenName: true, familyName: true, county: true } } },
    orderBy: { askedAt: 'asc' },
  })
  return rows.map((row) => ({
    ...shown(row, row.pollWorker.county.timeZone),
    workerId: row.pollWorkerId,
    name: `${row.pollWorker.givenName} ${row.pollWorker.familyName}`,
  }))
}
