import { describe, expect, it } from 'vitest'
import { loadPolicyTemplates } from '@/lib/certification/content'
import { checkContent, loadCrewTemplates } from '@/lib/crews/content'
import { seatsFor } from '@/lib/crews/core/seats'
import { CrewPlace } from '@/lib/crews/schema'

const templates = [...loadCrewTemplates().values()]

describe.each(templates)('crew rules of $key', ({ ruleTable, notice }) => {
  it('say that they are a template to be checked against local law', () => {
    expect(notice.en).toMatch(/template.*check/is)
    expect(notice.es).toMatch(/plantilla.*compare/is)
    expect(ruleTable.citation).toMatch(/no legal source/)
  })

  it('name positions that there are certificates for', () => {
    const known = loadPolicyTemplates()
    for (const rule of ruleTable.rules) expect([...known.keys()]).toContain(rule.position)
    expect(checkContent()).toEqual([])
  })

  it('give every kind of place a lead on every day it is open', () => {
    for (const kind of ['pollingPlace', 'voteCentre', 'earlyVotingSite'] as const)
      for (const phase of ['electionDay', 'earlyVoting'] as const) {
        const place = CrewPlace.parse({
          id: 'p',
          kind,
          precincts: [{ id: '1', registeredVoters: 1500 }],
          openOn: [{ on: '2026-11-03', phase }],
        })
        const leads = seatsFor(ruleTable, place).filter((g) => g.position === 'lead')
        expect(leads.map((g) => [g.seats, g.legalMinimum])).toEqual([[1, 1]])
      }
  })
})

it('a Larkmoor place of 1,500 voters has the crew of a hand count', () => {
  const larkmoor = templates.find((t) => t.key === 'larkmoor')!
  const place = CrewPlace.parse({
    id: 'p',
    kind: 'pollingPlace',
    precincts: [
      { id: '1', registeredVoters: 900 },
      { id: '2', registeredVoters: 600 },
    ],
    openOn: [{ on: '2026-11-03', phase: 'electionDay' }],
  })
  // Over 900: a deputy. 1,500 ÷ 700 → 3 at check-in; ÷ 900 → 2 ballot stations; one scanner; one in line, two shifts.
  expect(seatsFor(larkmoor.ruleTable, place).map((g) => [g.position, g.shift, g.seats])).toEqual([
    ['lead', 'full', 1],
    ['deputy', 'full', 1],
    ['check-in', 'full', 3],
    ['ballot-station', 'full', 2],
    ['scanner', 'full', 1],
    ['line-and-access', 'morning', 1],
    ['line-and-access', 'afternoon', 1],
  ])
})
