import { listPolicies } from '@/lib/certification/queries'
import type { Tx } from '@/lib/db/client'
import { env } from '@/lib/env'
import { AppError } from '@/lib/kernel/errors'
import { writeNotice } from '@/lib/notices/outbox'
import type { NoticeValues } from '@/lib/notices/templates'
import type { ClassNoticeValues, ClassValues } from '@/lib/notices/templates-classes'
import { REACH_COLUMNS, reachOf } from '@/lib/people/reach'
import type { TrainingClass } from '@/prisma/client/client'
import { classTopicsOf, titleOf } from './core/topics'
import { whenInWords } from './core/words'

export const noClass = () =>
  new AppError('NOT_FOUND', {
    userMessage: 'There is no such class, or it belongs to another county.',
    userMessageEs: 'No hay tal clase o es de otro condado.',
  })

/** A class with its county and bookings; from here on nobody else changes it until the transaction ends.
 *  @throws AppError NOT_FOUND */
export async function lockClass(tx: Tx, classId: string) {
  await tx.$executeRaw`SELECT 1 FROM "TrainingClass" WHERE id = ${classId}::uuid FOR UPDATE`
  const found = await tx.trainingClass.findUnique({ where: { id: classId }, include: { bookings: true } })
  if (!found) throw noClass()
  const county = await tx.county.findUniqueOrThrow({ where: { id: found.countyId } })
  return { ...found, county }
}
export type LockedClass = Awaited<ReturnType<typeof lockClass>>

/** Writes to people about a class, each in their language; who has no e-mail is left out. `mark` makes the message the
 *  only one of its kind (see `onceKey`). */
export async function tellAboutClass<K extends keyof ClassNoticeValues & keyof NoticeValues>(
  tx: Tx,
  kind: K,
  about: TrainingClass,
  county: { name: string; timeZone: string },
  to: { workerId: string; mark: string; more?: Omit<ClassNoticeValues[K], keyof ClassValues> }[],
  at: Date,
): Promise<number> {
  if (to.length === 0) return 0
  const [topics, workers] = [
    classTopicsOf(await listPolicies(tx, about.countyId)),
    await tx.pollWorker.findMany({
      where: { id: { in: to.map((t) => t.workerId) }, active: true },
      select: { id: true, givenName: true, familyName: true, ...REACH_COLUMNS },
    }),
  ]
  let written = 0
  for (const { workerId, mark, more } of to) {
    const worker = workers.find((w) => w.id === workerId)
    const reach = worker && reachOf(worker)
    if (!worker || !reach?.address) continue
    const values = {
      name: `${worker.givenName} ${worker.familyName}`,
      title: titleOf(topics, about.topic)[reach.locale],
      when: whenInWords(about.startsAt, about.endsAt, county.timeZone, reach.locale),
      place: `${about.placeName}, ${about.placeAddress}`,
      trainer: about.trainerName,
      note: about.note,
      link: `${env().PUBLIC_URL ?? ''}/classes/${about.id}`,
      office: county.name,
      ...more,
    } as NoticeValues[K]
    const id = await writeNotice(tx, {
      kind,
      values,
      to: { address: reach.address, locale: reach.locale, accountId: reach.accountId },
      countyId: about.countyId,
      onceKey: `${kind}:${about.id}:${workerId}:${mark}`,
      at,
    })
    if (id) written++
  }
  return written
}
