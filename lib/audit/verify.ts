import type { Db } from '@/lib/db/client'
import { FIRST_HASH, hashOfLink } from './append'

export type ChainVerdict =
  | { chain: string; status: 'whole'; links: number }
  | { chain: string; status: 'broken'; sequence: number; why: string }

const PAGE = 2000

/** Walks one chain from its first link. Names the first link that does not follow. O(links), in pages. */
export async function verifyChain(db: Db, chain: string): Promise<ChainVerdict> {
  const head = await db.auditHead.findUnique({ where: { chain } })
  let previousHash = FIRST_HASH
  let sequence = 0
  for (;;) {
    const page = await db.auditRecord.findMany({
      where: { chain, sequence: { gt: sequence } },
      orderBy: { sequence: 'asc' },
      take: PAGE,
    })
    for (const record of page) {
      const broken = (why: string): ChainVerdict => ({ chain, status: 'broken', sequence: sequence + 1, why })
      if (record.sequence !== sequence + 1) return broken('this link is missing')
      if (record.previousHash !== previousHash) return broken('it does not follow the link before it')
      const { hash, ...link } = record
      if (hashOfLink(link) !== hash) return broken('its content is not what was written')
      previousHash = hash
      sequence = record.sequence
    }
    if (page.length < PAGE) break
  }
  if (head && (head.sequence !== sequence || head.hash !== previousHash))
    return { chain, status: 'broken', sequence: sequence + 1, why: 'links at the end are missing' }
  return { chain, status: 'whole', links: sequence }
}

export async function verifyAllChains(db: Db): Promise<ChainVerdict[]> {
  const heads = await db.auditHead.findMany({ orderBy: { chain: 'asc' } })
  const orphans = await db.auditRecord.groupBy({ by: ['chain'] })
  const chains = [...new Set([...heads.map((h) => h.chain), ...orphans.map((o) => o.chain)])].sort()
  const verdicts: ChainVerdict[] = []
  for (const chain of chains) verdicts.push(await verifyChain(db, chain))
  return verdicts
}
