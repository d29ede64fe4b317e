import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import type { Prisma } from '@/prisma/client/client'
import type { Access } from '@/prisma/client/enums'
import type { Actor } from './actor'
import { assertCan, can } from './permissions'

export interface AccountSummary {
  id: string
  name: string
  email: string | null
  access: { access: Access; countyId: string | null }[]
  hasPassword: boolean
  hasAuthenticator: boolean
  disabledAt: Date | null
  pollWorkerId: string | null
  hasCard: boolean
}

const UUID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i
const OFFICE_PAGES = ['manageAccounts', 'readSignIns', 'readAudit', 'readOutbox', 'readJobs'] as const

const shown = () => ({
  grants: { where: { endedAt: null }, orderBy: { id: 'asc' as const } },
  codes: {
    where: { kind: 'card', revokedAt: null, expiresAt: { gt: systemClock.now() } },
    select: { id: true },
    take: 1,
  },
})

const summaryOf = (
  row: Prisma.AccountGetPayload<{ include: ReturnType<typeof shown> }>,
  countyId: string | null,
): AccountSummary => ({
  id: row.id,
  name: row.name,
  email: row.email,
  access: row.grants
    .filter((grant) => grant.countyId === countyId || grant.countyId === null)
    .map((grant) => ({ access: grant.access, countyId: grant.countyId })),
  hasPassword: row.passwordHash !== null,
  hasAuthenticator: row.totpConfirmedAt !== null,
  disabledAt: row.disabledAt,
  pollWorkerId: row.pollWorkerId,
  hasCard: row.codes.length > 0,
})

/** The accounts with access in a county: staff first, then poll workers, by name; at most 200, narrowed by a part of
 *  the name or address. `countyId` null: the state office's own. @throws AppError NOT_FOUND, FORBIDDEN. */
export async function listAccounts(
  actor: Actor,
  countyId: string | null,
  filter: { kind: 'staff' | 'poll-workers'; search?: string },
): Promise<AccountSummary[]> {
  assertCan(actor, 'manageAccounts', countyId)
  const access: Prisma.EnumAccessFilter<'Grant'> | Access =
    filter.kind === 'staff' ? { not: 'pollWorker' } : 'pollWorker'
  const contains = { contains: filter.search ?? '', mode: 'insensitive' } as const
  const rows = await db().account.findMany({
    where: {
      grants: { some: { countyId, endedAt: null, access } },
      ...(filter.search ? { OR: [{ name: contains }, { email: contains }] } : {}),
    },
    include: shown(),
    orderBy: [{ name: 'asc' }, { id: 'asc' }],
    take: 200,
  })
  return rows.map((row) => summaryOf(row, countyId))
}

/** One account with access in a county. @throws AppError NOT_FOUND, FORBIDDEN. */
export async function getAccount(
  actor: Actor,
  countyId: string | null,
  accountId: string,
): Promise<AccountSummary> {
  assertCan(actor, 'manageAccounts', countyId)
  const row = UUID.test(accountId)
    ? await db().account.findFirst({
        where: { id: accountId, grants: { some: { countyId, endedAt: null } } },
        include: shown(),
      })
    : null
  if (!row) throw new AppError('NOT_FOUND', { userMessage: 'There is no such account in this county.' })
  return summaryOf(row, countyId)
}

/** The offices that an actor administers or watches: counties by name, the state office (null) last. */
export async function listOffices(actor: Actor): Promise<{ countyId: string | null; name: string }[]> {
  const shows = (countyId: string | null) => OFFICE_PAGES.some((page) => can(actor, page, countyId))
  const counties = await db().county.findMany({ select: { id: true, name: true }, orderBy: { name: 'asc' } })
  const offices: { countyId: string | null; name: string }[] = counties
    .filter((county) => shows(county.id))
    .map((county) => ({ countyId: county.id, name: county.name }))
  if (shows(null)) offices.push({ countyId: null, name: 'State office' })
  return offices
}

/** A county as its administration pages need it. @throws AppError NOT_FOUND. */
export async function getOffice(
  actor: Actor,
  countyId: string | null,
): Promise<{ name: string; timeZone: string; authenticatorRequired: boolean }> {
  const county =
    countyId === null
      ? await db().state.findFirst({ orderBy: { id: 'asc' } })
      : await db().county.findUnique({ where: { id: countyId } })
  if (!county || !OFFICE_PAGES.some((page) => can(actor, page, countyId)))
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such page, or it belongs to another county.',
    })
  const settings = county.settings as { staffAuthenticatorRequired?: unknown }
  return {
    name: countyId === null ? 'State office' : county.name,
    timeZone: county.timeZone,
    authenticatorRequired: settings.staffAuthenticatorRequired === true,
  }
}

/** What one's own settings pages need. */
export async function getOwnAccount(
  actor: Actor,
): Promise<{ hasPassword: boolean; hasAuthenticator: boolean; timeZone: string }> {
  const account = await db().account.findUniqueOrThrow({ where: { id: actor.accountId } })
  const countyId = actor.grants.find((grant) => grant.countyId !== null)?.countyId
  const county = countyId ? await db().county.findUnique({ where: { id: countyId } }) : null
  const state = county ?? (await db().state.findFirst({ orderBy: { id: 'asc' } }))
  return {
    // What a card opened shows nothing of the office's part of the account.
    hasPassword: account.passwordHash !== null && actor.grants.some((g) => g.access !== 'pollWorker'),
    hasAuthenticator: account.totpConfirmedAt !== null,
    timeZone: state?.timeZone ?? 'UTC',
  }
}
