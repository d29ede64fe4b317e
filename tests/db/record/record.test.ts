import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { civilDate } from '@/lib/kernel/dates'
import { exportOwnRecord } from '@/lib/record/commands'
import { PERSONAL_MODELS, RECORD_PARTS } from '@/lib/record/parts'
import { seedIfEmpty } from '@/prisma/seed/seed'
import { useDatabase } from '@/tests/support/database'
import { actorWith } from '../roster/support'

useDatabase()

/** Models of schema.prisma whose own line says that they hold something personal. */
function personalModels(): string[] {
  const schema = readFileSync('prisma/schema.prisma', 'utf8')
  return [...schema.matchAll(/((?:^\/\/\/.*\n)+)^model (\w+) /gm)]
    .filter((match) => /Personal/.test(match[1]!.replaceAll(/Not personal/g, '')))
    .map((match) => match[2]!)
    .sort()
}

describe('everything about a person', () => {
  it('knows each model that holds something personal', () => {
    // A new model that says so must be told in the record, or say why not. These hold ids of accounts or of attempts.
    const known = new Set(Object.keys(PERSONAL_MODELS))
    expect(personalModels().filter((model) => !known.has(model))).toEqual([])
    for (const part of Object.values(PERSONAL_MODELS))
      if (typeof part === 'string') expect(RECORD_PARTS).toContain(part)
  })

  it('holds all that is stored of them, no secret, and nobody else', async () => {
    await seedIfEmpty({ today: civilDate('2026-06-01') })
    const worker = await db().pollWorker.findFirstOrThrow({
      where: { countyId: 'larkmoor', familyName: 'Ashcombe', givenName: 'June' },
      include: { account: true, certificates: true, facts: true },
    })
    const me: Actor = {
      ...actorWith('pollWorker', 'larkmoor'),
      accountId: worker.account!.id,
      pollWorkerId: worker.id,
    }
    const record = await exportOwnRecord(me, 'json')
    expect(record.parts.person).toMatchObject([{ givenName: 'June', county: 'Larkmoor County' }])
    expect(record.parts.facts).toHaveLength(worker.facts.length)
    expect(record.parts.certificates.map((row) => row.serial)).toEqual(
      worker.certificates.map((certificate) => certificate.serial),
    )
    expect(record.parts.codes).toMatchObject([{ kind: 'card' }])
    const text = JSON.stringify(record)
    for (const secret of ['passwordHash', 'totpSecret', 'codeHash', 'sealedPrivate'])
      expect(text).not.toContain(secret)
    const others = await db().pollWorker.findMany({
      where: { countyId: 'larkmoor', id: { not: worker.id } },
      select: { id: true },
    })
    for (const other of others) expect(text).not.toContain(other.id)
    const again = await exportOwnRecord(me, 'page')
    expect(again.parts.audit.map((row) => row.event)).toEqual(['worker.record-exported'])
  })

  it('is for the person alone', async () => {
    for (const access of ['countyStaff', 'administrator', 'trainer'] as const)
      await expect(exportOwnRecord(actorWith(access, 'larkmoor'), 'json')).rejects.toMatchObject({
        code: 'NOT_FOUND',
      })
  })
})
