import { insertRows } from '@/lib/db/bulk'
import type { Tx } from '@/lib/db/client'
import { canonicalJson, sha256Hex } from '@/lib/kernel/hash'
import { type AuditEvent, retentionOf } from './events'

/** The chain of what belongs to no county: accounts of the state office. */
export const STATE_CHAIN = 'state'
export const FIRST_HASH = '0'.repeat(64)

export interface AuditLink {
  chain: string
  sequence: number
  at: Date
  actorAccountId: string | null
  event: string
  subject: string
  detail: unknown
  retention: string
  previousHash: string
}

/** The hash of a link: SHA-256 over canonical JSON of all that it says, the hash before it among it. */
export const hashOfLink = (link: AuditLink): string =>
  sha256Hex(canonicalJson({ ...link, at: link.at.toISOString() }))

/** Adds a link to a county's chain, in the caller's transaction: no change without its record, no record without its
 *  change. Takes the chain's lock until the transaction ends, so call it last. */
export const appendAudit = (
  tx: Tx,
  by: { chain: string; actorAccountId: string | null; at: Date },
  record: AuditEvent,
): Promise<void> => appendAudits(tx, by, [record])

/** Adds links to a county's chain, in their order, as `appendAudit` does. */
export async function appendAudits(
  tx: Tx,
  by: { chain: string; actorAccountId: string | null; at: Date },
  records: readonly AuditEvent[],
): Promise<void> {
  if (records.length === 0) return
  await tx.$executeRaw`INSERT INTO "AuditHead" (chain, sequence, hash) VALUES (${by.chain}, 0, ${FIRST_HASH}) ON CONFLICT DO NOTHING`
  const [head] = await tx.$queryRaw<{ sequence: number; hash: string }[]>`
    SELECT sequence, hash FROM "AuditHead" WHERE chain = ${by.chain} FOR UPDATE`
  let { sequence, hash } = head!
  const rows = records.map((record) => {
    const link: AuditLink = {
      chain: by.chain,
      sequence: ++sequence,
      at: by.at,
      actorAccountId: by.actorAccountId,
      event: record.event,
      subject: record.subject,
      detail: record.detail,
      retention: retentionOf(record.event),
      previousHash: hash,
    }
    hash = hashOfLink(link)
    return { ...link, hash }
  })
  await insertRows(tx, 'AuditRecord', rows)
  await tx.auditHead.update({ where: { chain: by.chain }, data: { sequence, hash } })
}
