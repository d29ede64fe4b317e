import { z } from 'zod'
import { partyKey } from '@/lib/crews/core/party'
import type { RosterInstanceInput } from './schema'

/** What a county wants of its rosters beyond filled seats: kept in its settings under `rosterRules`. */
export const CountyRosterRules = z.object({
  /** `counted`: as few people too many as can be; `required`: none, if need be by leaving a seat empty. */
  balance: z.enum(['none', 'counted', 'required']).default('none'),
  /** The parties that are balanced, as people's records spell them (compared by `partyKey`). */
  firstParty: z.string().trim().max(100).default(''),
  secondParty: z.string().trim().max(100).default(''),
  /** People of one of the two more than of the other in one crew, at most. */
  mostDifference: z.number().int().min(0).max(20).default(1),
  leadAndDeputy: z.enum(['any', 'different']).default('any'),
  /** Key of the position that is the lead's deputy; `''`: none is. */
  deputy: z.string().trim().max(60).default('deputy'),
  /** So many of each crew speak this language. 0 or no language: no such wish. */
  language: z.string().trim().max(20).default(''),
  speakers: z.number().int().min(0).max(20).default(0),
  /** So many of each crew have served in so many elections. 0: no such wish. */
  experienced: z.number().int().min(0).max(20).default(0),
  elections: z.number().int().min(1).max(50).default(1),
  /** Miles that count as travelled when somebody doesn't return to the place of last time, or leaves the place, position
   *  and day that the roster gives them now. */
  returnMiles: z.number().min(0).max(100).default(0),
  changeMiles: z.number().min(0).max(100).default(0),
  /** Nobody travels further, one way in a straight line. 0: people's own limits alone. */
  mostMiles: z.number().min(0).max(100).default(0),
})
export type CountyRosterRules = z.output<typeof CountyRosterRules>

/** A county that has set nothing (or something unreadable) wishes nothing. */
export function countyRosterRulesOf(settings: unknown): CountyRosterRules {
  const own = CountyRosterRules.safeParse((settings as { rosterRules?: unknown } | null)?.rosterRules ?? {})
  return own.success ? own.data : CountyRosterRules.parse({})
}

const METRES_A_MILE = 1609.344

/** The wishes in the optimiser's terms: each that isn't met counts one. */
export function solverRules(
  wishes: CountyRosterRules,
): Required<Pick<RosterInstanceInput, 'rules' | 'costs'>> {
  const { balance, firstParty, secondParty, language, speakers, experienced, elections } = wishes
  const different = wishes.leadAndDeputy === 'different'
  return {
    rules: {
      balance:
        balance === 'none' && !different
          ? null
          : {
              parties: [firstParty, secondParty],
              maxDifference: wishes.mostDifference,
              mode: balance === 'required' ? 'hard' : 'soft',
              weight: balance === 'none' ? 0 : 1,
            },
      leadDeputySameParty: different ? 1 : 0,
      minimums: [
        ...(language && speakers > 0
          ? [{ kind: 'language' as const, value: language, count: speakers }]
          : []),
        ...(experienced > 0
          ? [{ kind: 'experience' as const, value: String(elections), count: experienced }]
          : []),
      ],
      maxTravelKm: wishes.mostMiles > 0 ? (wishes.mostMiles * METRES_A_MILE) / 1000 : null,
    },
    costs: {
      notReturning: Math.round(wishes.returnMiles * METRES_A_MILE),
      change: Math.round(wishes.changeMiles * METRES_A_MILE),
    },
  }
}

/** The one of the two balanced parties that somebody's record names; null: another or none. */
export function balancedParty(wishes: CountyRosterRules, party: string | null): string | null {
  const key = partyKey(party)
  if (key === null) return null
  return [wishes.firstParty, wishes.secondParty].find((own) => partyKey(own) === key) ?? null
}
