import { z } from 'zod'
import { appendAudit, STATE_CHAIN } from '@/lib/audit/append'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import type { Actor } from './actor'
import { assertCan } from './permissions'

export const NewCountyInput = z.object({
  name: z.string().trim().min(1, 'Give the county’s name.').max(80, 'Use at most 80 characters.'),
  timeZone: z
    .string()
    .refine((zone) => Intl.supportedValuesOf('timeZone').includes(zone), 'Choose a time zone.'),
  equipmentProfile: z.string().min(1, 'Choose the equipment.').max(100),
})

/** Ids that stand for something else in addresses and chains. */
const TAKEN = new Set<string>([STATE_CHAIN, 'state-office'])

const idFrom = (name: string): string =>
  name
    .normalize('NFD')
    .toLowerCase()
    .replace(/\bcounty\b/g, '')
    .replace(/[^a-z0-9 -]/g, '')
    .trim()
    .replace(/[ -]+/g, '-')
    .slice(0, 60)

/** Makes an empty county below the state office. Its id follows from its name and stays, whatever it is called later.
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT where the state has a county of that name. */
export async function makeCounty(actor: Actor, input: z.output<typeof NewCountyInput>): Promise<string> {
  assertCan(actor, 'changeCounty', null)
  const id = idFrom(input.name)
  if (id === '' || TAKEN.has(id))
    throw new AppError('INVALID_INPUT', {
      userMessage: 'Please check the marked fields. Nothing was saved yet.',
      fields: { name: 'Give the county’s own name, in letters.' },
    })
  return transaction(async (tx) => {
    const state = await tx.state.findFirst({ orderBy: { id: 'asc' } })
    if (!state) throw new AppError('NOT_FOUND', { userMessage: 'There is no state office.' })
    if (await tx.county.findUnique({ where: { id } }))
      throw new AppError('CONFLICT', {
        userMessage: 'The state has a county of this name already. Nothing was saved.',
        fields: { name: 'Choose another name.' },
      })
    await tx.county.create({ data: { id, stateId: state.id, ...input } })
    await appendAudit(
      tx,
      { chain: id, actorAccountId: actor.accountId, at: systemClock.now() },
      { event: 'county.made', subject: `county:${id}`, detail: {} },
    )
    return id
  })
}
