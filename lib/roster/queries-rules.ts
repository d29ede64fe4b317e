import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { partyKey } from '@/lib/crews/core/party'
import { db } from '@/lib/db/client'
import { AppError } from '@/lib/kernel/errors'
import { type CountyRosterRules, countyRosterRulesOf } from './county-rules'

export interface RosterRulesForm {
  wishes: CountyRosterRules
  /** Languages that somebody on record speaks besides English. */
  languages: string[]
  /** Parties on record, one spelling each, most people first; none for those who may not read them. */
  parties: string[]
}

/** What the county wants of its rosters, and what its records hold to choose from. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getRosterRules(actor: Actor, countyId: string): Promise<RosterRulesForm> {
  assertCan(actor, 'publishRules', countyId)
  const county = await db().county.findUnique({ where: { id: countyId }, select: { settings: true } })
  if (!county) throw new AppError('NOT_FOUND', { userMessage: 'There is no such county.' })
  const languages = await db().$queryRaw<{ language: string }[]>`
    SELECT DISTINCT unnest(languages) AS language FROM "PollWorker" WHERE "countyId" = ${countyId} ORDER BY 1`
  const parties = can(actor, 'readParty', countyId)
    ? await db().pollWorker.groupBy({
        by: ['party'],
        where: { countyId, party: { not: null } },
        _count: { _all: true },
        orderBy: { _count: { party: 'desc' } },
      })
    : []
  const spellings = new Map<string, string>()
  for (const { party } of parties) {
    const key = partyKey(party)
    if (key !== null && !spellings.has(key)) spellings.set(key, party!.trim())
  }
  return {
    wishes: countyRosterRulesOf(county.settings),
    languages: languages.map((row) => row.language).filter((language) => language !== 'en'),
    parties: [...spellings.values()],
  }
}
