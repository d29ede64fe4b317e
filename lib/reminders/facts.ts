import { todo } from '@/lib/certification/core/todo'
import { todoLines } from '@/lib/certification/core/todo-lines'
import { listElectionDates, listFacts, listPolicies } from '@/lib/certification/queries'
import type { Tx } from '@/lib/db/client'
import { env } from '@/lib/env'
import { addDays, type CivilDate } from '@/lib/kernel/dates'
import type { Locale } from '@/lib/kernel/wording'
import type { LapseValues } from '@/lib/notices/templates-reminders'
import { officeValues } from '@/lib/offers/facts'
import { REACH_COLUMNS } from '@/lib/people/reach'

/** A certificate held today that is no longer held on an election day. */
export interface Lapse {
  workerId: string
  certificateKey: string
  /** First day without it. */
  lapsesOn: CivilDate
}

/** The same ending is written about once, ever. */
export const onceKeyOf = (lapse: Lapse): string =>
  `lapse:${lapse.workerId}:${lapse.certificateKey}:${lapse.lapsesOn}`

/** Everybody active whose certificate ends by an election day and does not hold on it, soonest first. */
export async function listLapses(
  tx: Tx,
  countyId: string,
  today: CivilDate,
  heldOn: CivilDate,
): Promise<Lapse[]> {
  return tx.$queryRaw<Lapse[]>`
    SELECT c."pollWorkerId" AS "workerId", c."certificateKey", c."validUntil" AS "lapsesOn"
    FROM "CertificateSpan" c JOIN "PollWorker" w ON w.id = c."pollWorkerId" AND w.active
    WHERE c."countyId" = ${countyId} AND c."validFrom" <= ${today}
      AND c."validUntil" > ${today} AND c."validUntil" <= ${heldOn}
      AND NOT EXISTS (SELECT 1 FROM "CertificateSpan" d WHERE d."pollWorkerId" = c."pollWorkerId"
        AND d."certificateKey" = c."certificateKey" AND d."validFrom" <= ${heldOn}
        AND (d."validUntil" IS NULL OR d."validUntil" > ${heldOn}))
    ORDER BY c."validUntil", w."familyName", w."givenName", w.id, c."certificateKey"`
}

const LANGUAGE: Record<Locale, string> = { en: 'en-US', es: 'es-US' }
export const dateIn = (date: CivilDate, locale: Locale): string =>
  new Intl.DateTimeFormat(LANGUAGE[locale], { dateStyle: 'long', timeZone: 'UTC' }).format(
    new Date(`${date}T00:00:00Z`),
  )

/** Puts into words, for each person in their language, what ends and what is to be done: for mail and letters. */
export async function reminderWriter(tx: Tx, countyId: string, electionId: string, workerIds: string[]) {
  // One after the other: a transaction has one connection.
  const county = await tx.county.findUniqueOrThrow({ where: { id: countyId } })
  const election = await tx.election.findUniqueOrThrow({ where: { id: electionId } })
  const positions = await tx.position.findMany({ where: { countyId }, orderBy: { rank: 'asc' } })
  const policies = await listPolicies(tx, countyId)
  const elections = await listElectionDates(tx, countyId)
  const facts = await listFacts(tx, countyId, workerIds)
  const heldOn = election.heldOn as CivilDate
  return (
    worker: { id: string; givenName: string; familyName: string },
    matters: { certificateKey: string; lapsesOn: string }[],
    locale: Locale,
  ): LapseValues => {
    const nameOf = (key: string) => {
      const position = positions.find((p) => p.certificateKey === key)
      return position ? (locale === 'es' ? position.nameEs : position.nameEn) : key
    }
    const through = (until: string) => {
      const day = dateIn(addDays(until as CivilDate, -1), locale)
      return locale === 'es' ? `hasta el ${day}` : `through ${day}`
    }
    const steps = matters.flatMap(({ certificateKey }) => {
      const policy = policies.get(certificateKey)
      if (!policy) return []
      const items = todo(policy, facts.get(worker.id) ?? [], elections, heldOn)
      return todoLines(items.filter((item) => item.possible)).map((line) => line[locale])
    })
    return {
      name: `${worker.givenName} ${worker.familyName}`,
      election: election.name,
      electionDate: dateIn(heldOn, locale),
      certificates: matters.map((m) => `${nameOf(m.certificateKey)}: ${through(m.lapsesOn)}`),
      todo: [...new Set(steps)],
      link: `${env().PUBLIC_URL ?? ''}/path`,
      ...officeValues(county),
    }
  }
}

/** Columns of a person that a reminder needs. */
export const REMINDED = {
  id: true,
  givenName: true,
  familyName: true,
  homeAddress: true,
  confidentialAddress: true,
  ...REACH_COLUMNS,
} as const

/** Each person's lapses, in the order given. */
export function lapsesByWorker(lapses: readonly Lapse[]): Map<string, Lapse[]> {
  const byWorker = new Map<string, Lapse[]>()
  for (const lapse of lapses) byWorker.set(lapse.workerId, [...(byWorker.get(lapse.workerId) ?? []), lapse])
  return byWorker
}
