import { appendAudit } from '@/lib/audit/append'
import { hashOfCode } from '@/lib/auth/codes'
import type { Tx } from '@/lib/db/client'
import type { Prisma } from '@/prisma/client/client'
import type { AccountRow, CountyRows, GrantRow } from './rows'

/** Rows in one statement. PostgreSQL takes 65,535 parameters, a poll worker needs 22. */
const BATCH = 2000

async function inBatches<Row>(rows: readonly Row[], write: (data: Row[]) => Promise<unknown>): Promise<void> {
  for (let i = 0; i < rows.length; i += BATCH) await write(rows.slice(i, i + BATCH))
}

/** Accounts with their grants. `passwordHashes`: e-mail → hash; an account that isn't in it has no password. */
export async function writeAccounts(
  tx: Tx,
  accounts: readonly AccountRow[],
  grants: readonly GrantRow[],
  passwordHashes: ReadonlyMap<string, string>,
): Promise<void> {
  const rows = accounts.map((account) => ({
    ...account,
    passwordHash: (account.email && passwordHashes.get(account.email)) || null,
  }))
  await inBatches(rows, (data) => tx.account.createMany({ data }))
  await inBatches(grants, (data) => tx.grant.createMany({ data }))
}

/** Writes a county and its audit record in the caller's transaction. Nothing is replaced: a county that is already
 *  there makes the transaction fail. */
export async function writeCounty(
  tx: Tx,
  rows: CountyRows,
  options: { at: Date; passwordHashes?: ReadonlyMap<string, string> },
): Promise<void> {
  await tx.county.create({ data: rows.county })
  await inBatches(rows.pollingPlaces, (data) => tx.pollingPlace.createMany({ data }))
  await inBatches(rows.precincts, (data) => tx.precinct.createMany({ data }))
  await inBatches(rows.positions, (data) => tx.position.createMany({ data }))
  await inBatches(rows.elections, (data) => tx.election.createMany({ data }))
  await inBatches(rows.seats, (data) => tx.seat.createMany({ data }))
  await inBatches(rows.pollWorkers, (data) => tx.pollWorker.createMany({ data }))
  await writeAccounts(tx, rows.accounts, rows.grants, options.passwordHashes ?? new Map())
  await inBatches(rows.facts, (data) => tx.fact.createMany({ data }))
  await inBatches(rows.ruleSets, (data) =>
    tx.ruleSet.createMany({ data: data as Prisma.RuleSetCreateManyInput[] }),
  )
  await inBatches(rows.spans, (data) => tx.certificateSpan.createMany({ data }))
  await inBatches(rows.cards, (data) =>
    tx.signInCode.createMany({
      data: data.map(({ code, ...card }) => ({ ...card, kind: 'card', codeHash: hashOfCode(code) })),
    }),
  )
  await appendAudit(
    tx,
    { chain: rows.county.id, actorAccountId: null, at: options.at },
    {
      event: 'county.seeded',
      subject: `county:${rows.county.id}`,
      detail: {
        people: rows.pollWorkers.length,
        places: rows.pollingPlaces.length,
        precincts: rows.precincts.length,
      },
    },
  )
}
