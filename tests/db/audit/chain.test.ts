import { describe, expect, it } from 'vitest'
import { appendAudit } from '@/lib/audit/append'
import { verifyAllChains, verifyChain } from '@/lib/audit/verify'
import { db } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { useDatabase } from '@/tests/support/database'

useDatabase()

const at = new Date('2028-03-01T12:00:00Z')
const add = (chain: string, changed: string) =>
  transaction((tx) =>
    appendAudit(
      tx,
      { chain, actorAccountId: null, at },
      { event: 'county.settings-changed', subject: `county:${chain}`, detail: { changed: [changed] } },
    ),
  )
/** As somebody with the database's own password could, past the trigger that refuses it. */
const tamper = (sql: string) =>
  db().$transaction([
    db().$executeRawUnsafe('ALTER TABLE "AuditRecord" DISABLE TRIGGER audit_only_grows'),
    db().$executeRawUnsafe(sql),
    db().$executeRawUnsafe('ALTER TABLE "AuditRecord" ENABLE TRIGGER audit_only_grows'),
  ])

describe('the audit chain', () => {
  it('is whole after fifty links that arrive at once', async () => {
    await Promise.all(Array.from({ length: 50 }, (_, i) => add('together', `${i}`)))
    expect(await verifyChain(db(), 'together')).toEqual({ chain: 'together', status: 'whole', links: 50 })
  })

  it('leaves no link behind when the change fails', async () => {
    await add('undone', 'kept')
    const failing = transaction(async (tx) => {
      await appendAudit(
        tx,
        { chain: 'undone', actorAccountId: null, at },
        { event: 'county.settings-changed', subject: 'county:undone', detail: { changed: ['lost'] } },
      )
      throw new Error('half-way')
    })
    await expect(failing).rejects.toThrow('half-way')
    expect(await verifyChain(db(), 'undone')).toEqual({ chain: 'undone', status: 'whole', links: 1 })
  })

  it('refuses to change or delete a record', async () => {
    await add('kept', 'a')
    await expect(db().auditRecord.updateMany({ data: { event: 'x' } })).rejects.toThrow(/only grows/)
    await expect(db().auditRecord.deleteMany({})).rejects.toThrow(/only grows/)
  })

  it('names the first link whose content was changed', async () => {
    for (const word of ['a', 'b', 'c']) await add('changed', word)
    await tamper(`UPDATE "AuditRecord" SET subject = 'county:other' WHERE chain = 'changed' AND sequence = 2`)
    expect(await verifyChain(db(), 'changed')).toMatchObject({ status: 'broken', sequence: 2 })
  })

  it('names the link that was taken out of the middle, and the end that was cut off', async () => {
    for (const word of ['a', 'b', 'c']) await add('gap', word)
    await tamper(`DELETE FROM "AuditRecord" WHERE chain = 'gap' AND sequence = 2`)
    expect(await verifyChain(db(), 'gap')).toMatchObject({
      status: 'broken',
      sequence: 2,
      why: 'this link is missing',
    })
    for (const word of ['a', 'b', 'c']) await add('cut', word)
    await tamper(`DELETE FROM "AuditRecord" WHERE chain = 'cut' AND sequence = 3`)
    expect(await verifyChain(db(), 'cut')).toMatchObject({ status: 'broken', sequence: 3 })
    expect((await verifyAllChains(db())).map((v) => v.chain)).toContain('cut')
  })
})
