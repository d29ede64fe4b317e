import { randomUUID } from 'node:crypto'
import { exportJWK, generateKeyPair, type JWK } from 'jose'
import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { seal, unseal } from '@/lib/auth/secret'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError, invariant } from '@/lib/kernel/errors'
import type { Prisma } from '@/prisma/client/client'
import { keyAddress } from './addresses'
import { publicKeyOf } from './core/credential'

/** RS256 with 2048 bits: the signature that every Open Badges 3.0 verifier has to know (section 8.2.3). */
const MODULUS_BITS = 2048

/** Makes a key in the caller's transaction. The private half is stored sealed, and nowhere else. */
async function makeKey(tx: Tx, countyId: string, at: Date) {
  const id = randomUUID()
  const { privateKey } = await generateKeyPair('RS256', { modulusLength: MODULUS_BITS, extractable: true })
  const jwk: JWK = { ...(await exportJWK(privateKey)), kid: keyAddress(countyId, id) }
  return tx.issuerKey.create({
    data: {
      id,
      countyId,
      kid: jwk.kid as string,
      publicKey: publicKeyOf(jwk) as Prisma.InputJsonValue,
      sealedPrivate: seal(JSON.stringify(jwk), id, 'issuer-key-seal'),
      createdAt: at,
    },
  })
}

/** Two commands at once must not make two keys, or use one that is being retired. */
const lockCounty = (tx: Tx, countyId: string) =>
  tx.$executeRaw`SELECT 1 FROM "County" WHERE id = ${countyId} FOR UPDATE`

const findKeyInUse = (tx: Tx, countyId: string) =>
  tx.issuerKey.findFirst({ where: { countyId, retiredAt: null }, orderBy: { createdAt: 'desc' } })

/** The county's private key in use, made on first need (`isNew`: the caller audits it). */
export async function signingKey(
  tx: Tx,
  countyId: string,
  at: Date,
): Promise<{ id: string; jwk: JWK; isNew: boolean }> {
  await lockCounty(tx, countyId)
  const found = await findKeyInUse(tx, countyId)
  const key = found ?? (await makeKey(tx, countyId, at))
  invariant(key.sealedPrivate !== null, 'a key in use has its private half')
  return {
    id: key.id,
    jwk: JSON.parse(unseal(key.sealedPrivate, key.id, 'issuer-key-seal')) as JWK,
    isNew: !found,
  }
}

async function retire(tx: Tx, countyId: string, keyId: string, at: Date): Promise<string> {
  await tx.issuerKey.update({ where: { id: keyId }, data: { retiredAt: at, sealedPrivate: null } })
  return (await makeKey(tx, countyId, at)).id
}

/** What the key signed is to be signed anew, with the key in use, when somebody next asks for it. */
async function forgetSigned(tx: Tx, keyId: string): Promise<number> {
  const { count } = await tx.certificateIssue.updateMany({
    where: { keyId },
    data: { credential: null, keyId: null },
  })
  return count
}

export const RotateKeyInput = z.object({
  countyId: z.string().min(1).max(100),
  signed: z
    .enum(['stays', 'expires'], 'Choose what becomes of the files that the old key signed.')
    .default('stays'),
})

/** A new key signs from now on. The old one's private half is destroyed. `stays`: what it signed can still be checked
 *  with its public half. `expires`: what it signed counts no more, and each file is signed anew when its holder next
 *  asks for it. Returns how many files that is. @throws AppError NOT_FOUND, FORBIDDEN */
export async function rotateKey(
  actor: Actor,
  { countyId, signed }: z.output<typeof RotateKeyInput>,
): Promise<{ credentials: number }> {
  assertCan(actor, 'manageIssuerKeys', countyId)
  const at = systemClock.now()
  return transaction(async (tx) => {
    await lockCounty(tx, countyId)
    const by = { chain: countyId, actorAccountId: actor.accountId, at }
    const old = await findKeyInUse(tx, countyId)
    const newKeyId = old ? await retire(tx, countyId, old.id, at) : (await makeKey(tx, countyId, at)).id
    await appendAudit(
      tx,
      by,
      old
        ? {
            event: 'issuer-key.rotated',
            subject: `county:${countyId}`,
            detail: { oldKeyId: old.id, newKeyId },
          }
        : { event: 'issuer-key.made', subject: `county:${countyId}`, detail: { keyId: newKeyId } },
    )
    if (!old || signed === 'stays') return { credentials: 0 }
    await tx.issuerKey.update({ where: { id: old.id }, data: { expiredAt: at } })
    const credentials = await forgetSigned(tx, old.id)
    await appendAudit(tx, by, {
      event: 'issuer-key.expired',
      subject: `county:${countyId}`,
      detail: { keyId: old.id, credentials },
    })
    return { credentials }
  })
}

export const WithdrawKeyInput = z.object({ countyId: z.string().min(1).max(100), keyId: z.uuid() })

/** A key was lost or stolen: nothing that it signed counts any more. The certificates stay; each credential is signed
 *  anew when its holder next asks for it. Returns how many are affected. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function withdrawKey(
  actor: Actor,
  { countyId, keyId }: z.output<typeof WithdrawKeyInput>,
): Promise<{ credentials: number }> {
  assertCan(actor, 'manageIssuerKeys', countyId)
  const at = systemClock.now()
  return transaction(async (tx) => {
    await lockCounty(tx, countyId)
    const key = await tx.issuerKey.findFirst({ where: { id: keyId, countyId } })
    if (!key) throw new AppError('NOT_FOUND', { userMessage: 'There is no such key.' })
    if (key.withdrawnAt) throw new AppError('CONFLICT', { userMessage: 'This key was already withdrawn.' })
    const by = { chain: countyId, actorAccountId: actor.accountId, at }
    const newKeyId = key.retiredAt === null ? await retire(tx, countyId, keyId, at) : null
    await tx.issuerKey.update({ where: { id: keyId }, data: { withdrawnAt: at } })
    const credentials = await forgetSigned(tx, keyId)
    if (newKeyId)
      await appendAudit(tx, by, {
        event: 'issuer-key.rotated',
        subject: `county:${countyId}`,
        detail: { oldKeyId: keyId, newKeyId },
      })
    await appendAudit(tx, by, {
      event: 'issuer-key.withdrawn',
      subject: `county:${countyId}`,
      detail: { keyId, credentials },
    })
    return { credentials }
  })
}
