import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { readPeopleFilter, searchOf } from './filter'

const MOST_VIEWS = 30

export const KeepViewInput = z.object({
  countyId: z.string().min(1).max(100),
  name: z.string().trim().min(1, 'Give the view a name.').max(60, 'Give it a shorter name.'),
  query: z.string().max(2000),
})

/** Keeps the filter of the people list under a name, for the actor alone; the same name again replaces it. A searched
 *  name is never kept. @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT */
export async function keepView(actor: Actor, input: z.output<typeof KeepViewInput>): Promise<string> {
  assertCan(actor, 'readPeople', input.countyId)
  const filter = readPeopleFilter(Object.fromEntries(new URLSearchParams(input.query)))
  const query = searchOf(filter, ['name', 'after', 'before'])
  if (query === '')
    throw new AppError('INVALID_INPUT', {
      userMessage: 'Choose a filter first: a view keeps everything except a searched name.',
    })
  const key = { accountId: actor.accountId, countyId: input.countyId, list: 'people', name: input.name }
  const at = systemClock.now()
  await transaction(async (tx) => {
    const views = await tx.savedView.count({
      where: { accountId: key.accountId, countyId: key.countyId, list: key.list, name: { not: key.name } },
    })
    if (views >= MOST_VIEWS)
      throw new AppError('CONFLICT', {
        userMessage: `You have kept ${MOST_VIEWS} views. Remove one that you no longer need, then keep this one.`,
      })
    const view = await tx.savedView.upsert({
      where: { accountId_countyId_list_name: key },
      create: { ...key, query, createdAt: at },
      update: { query },
    })
    await appendAudit(
      tx,
      { chain: input.countyId, actorAccountId: actor.accountId, at },
      { event: 'view.kept', subject: `account:${actor.accountId}`, detail: { viewId: view.id } },
    )
  })
  return query
}

export const RemoveViewInput = z.object({ countyId: z.string().min(1).max(100), viewId: z.uuid() })

/** Removes one of the actor's own views; one that isn't there stays so. @throws AppError NOT_FOUND, FORBIDDEN */
export async function removeView(actor: Actor, input: z.output<typeof RemoveViewInput>): Promise<void> {
  assertCan(actor, 'readPeople', input.countyId)
  await transaction(async (tx) => {
    const { count } = await tx.savedView.deleteMany({
      where: { id: input.viewId, accountId: actor.accountId, countyId: input.countyId },
    })
    if (count === 0) return
    await appendAudit(
      tx,
      { chain: input.countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      { event: 'view.removed', subject: `account:${actor.accountId}`, detail: { viewId: input.viewId } },
    )
  })
}
