import { appendAudit } from '@/lib/audit/append'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { writeNotice } from '@/lib/notices/outbox'
import type { Actor } from './actor'
import { hashOfCode, newCardCode } from './codes'
import { assertCan, assertCanOver } from './permissions'
import { endSignInsIn } from './sign-ins'

/** A card lasts through the training for one election. Our own choice. */
export const CARD_DAYS = 180

export interface PrintedCard {
  /** Shown once, now; only its hash is kept. */
  code: string
  name: string
  /** The last civil date on which it surely works, in the county's zone. */
  validUntil: string
  locale: string
}

/** The account of a poll worker; made when the first card is printed, since many have none before. */
async function accountOfWorker(
  tx: Tx,
  actor: Actor,
  worker: {
    id: string
    countyId: string
    givenName: string
    familyName: string
    email: string | null
    languages: string[]
  },
  at: Date,
) {
  const found = await tx.account.findUnique({ where: { pollWorkerId: worker.id } })
  if (found) return found
  const email = worker.email?.trim().toLowerCase() || null
  // An address can open one account only; where two people share a mailbox, the second has the card alone.
  const taken = email ? await tx.account.findUnique({ where: { email }, select: { id: true } }) : null
  const account = await tx.account.create({
    data: {
      name: `${worker.givenName} ${worker.familyName}`,
      email: taken ? null : email,
      locale: worker.languages.includes('en') || !worker.languages.includes('es') ? 'en' : 'es',
      pollWorkerId: worker.id,
      createdAt: at,
      grants: { create: { access: 'pollWorker', countyId: worker.countyId, createdAt: at } },
    },
  })
  await appendAudit(
    tx,
    { chain: worker.countyId, actorAccountId: actor.accountId, at },
    { event: 'account.created', subject: `account:${account.id}`, detail: { access: 'pollWorker' } },
  )
  return account
}

const revokeOpenCards = async (tx: Tx, accountId: string, at: Date): Promise<number> => {
  const { count } = await tx.signInCode.updateMany({
    where: { accountId, kind: 'card', revokedAt: null, expiresAt: { gt: at } },
    data: { revokedAt: at },
  })
  return count
}

/** Prints a new sign-in card for a poll worker: makes the code, ends the earlier cards, tells the person by e-mail
 *  where there is an address (so that nobody prints one unnoticed). Signed-in devices stay signed in.
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT where the account is disabled. */
export async function printSignInCard(actor: Actor, pollWorkerId: string): Promise<PrintedCard> {
  const at = systemClock.now()
  const expiresAt = new Date(at.getTime() + CARD_DAYS * 86_400_000)
  return transaction(async (tx) => {
    const worker = await tx.pollWorker.findUnique({ where: { id: pollWorkerId }, include: { county: true } })
    if (!worker)
      throw new AppError('NOT_FOUND', {
        userMessage: 'There is no such person, or they belong to another county.',
      })
    assertCan(actor, 'printSignInCard', worker.countyId)
    const account = await accountOfWorker(tx, actor, worker, at)
    if (account.disabledAt)
      throw new AppError('CONFLICT', {
        userMessage: "This person's account is disabled. An administrator can enable it again.",
      })
    await revokeOpenCards(tx, account.id, at)
    const code = newCardCode()
    await tx.signInCode.create({
      data: { accountId: account.id, kind: 'card', codeHash: hashOfCode(code), createdAt: at, expiresAt },
    })
    const validUntil = civilDateAt(new Date(expiresAt.getTime() - 86_400_000), worker.county.timeZone)
    if (account.email)
      await writeNotice(tx, {
        kind: 'card-printed',
        values: { name: account.name, validUntil, office: worker.county.name },
        to: { address: account.email, locale: account.locale, accountId: account.id },
        countyId: worker.countyId,
        at,
      })
    await appendAudit(
      tx,
      { chain: worker.countyId, actorAccountId: actor.accountId, at },
      { event: 'sign-in.card-printed', subject: `account:${account.id}`, detail: { validUntil } },
    )
    return { code, name: account.name, validUntil, locale: account.locale }
  })
}

/** For a lost card: it stops working, and so does whatever was signed in with a card. Returns how many cards.
 *  @throws AppError NOT_FOUND, FORBIDDEN. */
export async function revokeCards(actor: Actor, accountId: string): Promise<number> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const grants = await tx.grant.findMany({ where: { accountId, endedAt: null } })
    const chain = assertCanOver(actor, 'printSignInCard', grants)
    const cards = await revokeOpenCards(tx, accountId, at)
    const by = { chain, actorAccountId: actor.accountId, at }
    await endSignInsIn(tx, { accountId, method: 'card' }, by, 'ended-by-staff')
    await appendAudit(tx, by, {
      event: 'sign-in.cards-revoked',
      subject: `account:${accountId}`,
      detail: { cards },
    })
    return cards
  })
}
