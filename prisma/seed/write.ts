import { appendAudit } from '@/lib/audit/append'
import { hashOfCode } from '@/lib/auth/codes'
import { syncCertificates } from '@/lib/certification/commands-issue'
import { insertRows } from '@/lib/db/bulk'
import type { Tx } from '@/lib/db/client'
import type { AccountRow, CountyRows, GrantRow } from './rows'

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
  await insertRows(tx, 'Account', rows)
  await insertRows(tx, 'Grant', grants)
}

/** Writes a county and its audit record in the caller's transaction. Nothing is replaced: a county that is already
 *  there makes the transaction fail. */
export async function writeCounty(
  tx: Tx,
  rows: CountyRows,
  options: { at: Date; passwordHashes?: ReadonlyMap<string, string> },
): Promise<void> {
  await tx.county.create({ data: rows.county })
  await insertRows(tx, 'PollingPlace', rows.pollingPlaces)
  await insertRows(tx, 'Opening', rows.openings)
  await insertRows(tx, 'Precinct', rows.precincts)
  await insertRows(tx, 'Position', rows.positions)
  await insertRows(tx, 'Election', rows.elections)
  await insertRows(tx, 'Seat', rows.seats)
  await insertRows(tx, 'PollWorker', rows.pollWorkers)
  await writeAccounts(tx, rows.accounts, rows.grants, options.passwordHashes ?? new Map())
  // Two counties sat the same quiz.
  await tx.definitionVersion.createMany({ data: rows.definitions, skipDuplicates: true })
  await insertRows(tx, 'Attempt', rows.attempts)
  await insertRows(tx, 'AttemptEvent', rows.attemptEvents)
  await insertRows(tx, 'Fact', rows.facts)
  await insertRows(tx, 'RuleSet', rows.ruleSets)
  await insertRows(tx, 'CertificateSpan', rows.spans)
  await insertRows(
    tx,
    'SignInCode',
    rows.cards.map(({ code, ...card }) => ({ ...card, kind: 'card', codeHash: hashOfCode(code) })),
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
  await syncCertificates(tx, { accountId: null, at: options.at }, rows.county.id)
}
