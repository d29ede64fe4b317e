/** A county's wishes in the optimiser's terms. A mile is 1,609.344 m (international mile, NIST). */
import { expect, it } from 'vitest'
import { balancedParty, CountyRosterRules, countyRosterRulesOf, solverRules } from '@/lib/roster/county-rules'
import { RosterInstance } from '@/lib/roster/schema'

const wishes = (some: object) => CountyRosterRules.parse(some)
const parties = { firstParty: 'Elm', secondParty: 'Oak' }

it('asks nothing of a roster where the county wishes nothing, or where its settings can’t be read', () => {
  for (const settings of [{}, null, 'x', { rosterRules: { speakers: -1 } }])
    expect(solverRules(countyRosterRulesOf(settings))).toEqual({
      rules: { balance: null, leadDeputySameParty: 0, minimums: [], maxTravelKm: null },
      costs: { notReturning: 0, change: 0 },
    })
})

it('hands every wish over, each missed one counting one', () => {
  const { rules, costs } = solverRules(
    wishes({
      ...parties,
      balance: 'counted',
      mostDifference: 2,
      leadAndDeputy: 'different',
      language: 'es',
      speakers: 1,
      experienced: 2,
      elections: 3,
      returnMiles: 1,
      changeMiles: 0.5,
      mostMiles: 10,
    }),
  )
  expect(rules).toEqual({
    balance: { parties: ['Elm', 'Oak'], maxDifference: 2, mode: 'soft', weight: 1 },
    leadDeputySameParty: 1,
    minimums: [
      { kind: 'language', value: 'es', count: 1 },
      { kind: 'experience', value: '3', count: 2 },
    ],
    maxTravelKm: 16.09344,
  })
  expect(costs).toEqual({ notReturning: 1609, change: 805 })
  expect(() => RosterInstance.parse({ people: [], places: [], seats: [], rules, costs })).not.toThrow()
})

it('names the parties for lead and deputy though no balance is asked for, and keeps a required one hard', () => {
  expect(solverRules(wishes({ ...parties, leadAndDeputy: 'different' })).rules.balance).toMatchObject({
    weight: 0,
    mode: 'soft',
  })
  expect(solverRules(wishes({ ...parties, balance: 'required' })).rules.balance).toMatchObject({
    weight: 1,
    mode: 'hard',
  })
})

it('knows a party in any spelling, and nobody’s where none or another is named', () => {
  const own = wishes({ ...parties, firstParty: ' ELM' })
  expect(['elm', '\tElm ', 'OAK', 'Yew', 'none', '', null].map((p) => balancedParty(own, p))).toEqual([
    'ELM',
    'ELM',
    'Oak',
    null,
    null,
    null,
    null,
  ])
  // A wish that names no party balances nobody.
  expect(balancedParty(wishes({ balance: 'counted' }), 'unaffiliated')).toBeNull()
  expect(balancedParty(wishes({ balance: 'counted' }), '')).toBeNull()
})
