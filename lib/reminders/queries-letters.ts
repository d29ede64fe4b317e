import type { Actor } from '@/lib/auth/actor'
import { can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { civilDateAt } from '@/lib/kernel/dates'
import type { Locale } from '@/lib/kernel/wording'
import { wordNotice } from '@/lib/notices/templates'
import { dateIn, REMINDED, reminderWriter } from './facts'
import { getBatchOrThrow, getsLetter } from './queries'

export interface Letter {
  locale: Locale
  office: string
  /** Name and address for the window; null: the address is protected from this actor. */
  name: string
  address: string | null
  date: string
  subject: string
  body: string
}

/** The letters of a batch, in the order of their names: to those by post, and to those whose mail was refused
 *  or may not have arrived. Addresses
 *  under protection are left out where the actor may not read them. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listLetters(actor: Actor, countyId: string, batchId: string): Promise<Letter[]> {
  const view = await getBatchOrThrow(actor, countyId, batchId)
  const wanted = view.rows.filter(getsLetter)
  const batch = await db().reminderBatch.findUniqueOrThrow({ where: { id: batchId } })
  const reminders = await db().reminder.findMany({
    where: { id: { in: wanted.map((row) => row.id) } },
    include: { matters: { orderBy: { certificateKey: 'asc' } }, pollWorker: { select: REMINDED } },
  })
  const write = await reminderWriter(
    db(),
    countyId,
    batch.electionId,
    reminders.map((r) => r.pollWorkerId),
  )
  const today = civilDateAt(systemClock.now(), view.county.timeZone)
  return reminders
    .sort((a, b) =>
      `${a.pollWorker.familyName} ${a.pollWorker.givenName}`.localeCompare(
        `${b.pollWorker.familyName} ${b.pollWorker.givenName}`,
      ),
    )
    .map(({ pollWorker, matters, ...reminder }): Letter => {
      const locale = reminder.locale === 'es' ? 'es' : 'en'
      const open = !pollWorker.confidentialAddress || can(actor, 'readConfidentialAddress', countyId)
      return {
        locale,
        office: view.county.name,
        name: `${pollWorker.givenName} ${pollWorker.familyName}`,
        address: open ? pollWorker.homeAddress : null,
        date: dateIn(today, locale),
        ...wordNotice('certificate-lapses', write(pollWorker, matters, locale), locale),
      }
    })
}
