import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { countSeats, mostOfOneParty, type SeatGroup, seatsFor } from '@/lib/crews/core/seats'
import { CrewPlace, RuleTable } from '@/lib/crews/schema'

/** Read from the statutes unless a test says otherwise: tests/reference/law/SOURCE.md. */
const law = JSON.parse(readFileSync('tests/reference/law/facts.json', 'utf8')) as Record<
  'read_from_source' | 'from_memory',
  { id: string; cite?: string; facts: Record<string, unknown> }[]
>
const statute = (id: string) => {
  const entry = law.read_from_source.find((e) => e.id === id)!
  return { cite: entry.cite!, facts: entry.facts as Record<string, number> & Record<string, unknown> }
}

const place = (voters: number[], more: object = {}) =>
  CrewPlace.parse({
    id: 'p',
    kind: 'pollingPlace',
    precincts: voters.map((registeredVoters, i) => ({ id: `precinct ${i + 1}`, registeredVoters })),
    openOn: [{ on: '2026-11-03', phase: 'electionDay' }],
    ...more,
  })
const total = (groups: SeatGroup[]) => groups.reduce((sum, g) => sum + g.seats, 0)
const ofPrecinct = (groups: SeatGroup[], n: number) =>
  total(groups.filter((g) => g.precinctId === `precinct ${n}`))
const fixed = (seats: number) => ({ kind: 'fixed', seats })
const table = (citation: string, rules: object[], more: object = {}) =>
  RuleTable.parse({ key: 'state', citation, rules, ...more })

describe('Ohio Rev. Code 3501.22(A)', () => {
  const { cite, facts } = statute('OH-3501.22')
  const rules = table(
    cite,
    [
      {
        position: 'judge',
        per: 'precinct',
        count: fixed(facts.judges_per_precinct as number),
        legalMinimum: true,
      },
    ],
    { sameParty: 'atMostHalf' },
  )

  it('puts four judges into each precinct, however many share a place', () => {
    const seats = seatsFor(rules, place([800, 950, 400]))
    expect([1, 2, 3].map((n) => ofPrecinct(seats, n))).toEqual([4, 4, 4])
    expect(seats.every((g) => g.legalMinimum === g.seats)).toBe(true)
  })

  it('lets not more than half be of one party', () => expect(mostOfOneParty(rules, 4)).toBe(2))
})

describe('N.Y. Election Law 3-400', () => {
  const { cite, facts } = statute('NY-3-400')

  it('puts four inspectors into each election district, two of each major party', () => {
    const rules = table(
      cite,
      [
        {
          position: 'inspector',
          per: 'precinct',
          count: fixed(facts.inspectors_per_election_district as number),
        },
      ],
      { sameParty: 'atMostHalf' },
    )
    expect(ofPrecinct(seatsFor(rules, place([1100, 700])), 2)).toBe(4)
    expect(mostOfOneParty(rules, 4)).toBe(2)
  })

  it('takes at least four for a whole site under the alternative plan', () => {
    const rules = table(cite, [
      {
        position: 'inspector',
        per: 'place',
        count: { kind: 'each', voters: 1000, least: facts.alt_plan_min_per_poll_site },
      },
    ])
    expect(total(seatsFor(rules, place([300, 200])))).toBe(4)
    // 5,200 voters at one for each started thousand (the county's own measure): six.
    expect(total(seatsFor(rules, place([2600, 2600])))).toBe(6)
  })
})

describe('Wis. Stat. 7.30(1)(a)', () => {
  const { cite, facts } = statute('WI-7.30')
  const rules = table(
    cite,
    [
      {
        position: 'inspector',
        per: 'place',
        when: { withoutFeatures: ['votingMachines'] },
        count: fixed(facts.inspectors as number),
      },
      {
        position: 'inspector',
        per: 'place',
        when: { features: ['votingMachines'] },
        count: fixed(facts.with_voting_machines_may_reduce_to as number),
      },
      { position: 'greeter', per: 'place', when: { over: 2000 }, count: fixed(1) },
    ],
    { oddTotal: { per: 'place', position: 'inspector' }, sameParty: 'atMostHalfRoundedUp' },
  )

  it('is seven, or five where voting machines are used', () => {
    expect(total(seatsFor(rules, place([900])))).toBe(7)
    expect(total(seatsFor(rules, place([900], { features: ['votingMachines'] })))).toBe(5)
  })

  it('is always an odd number, and the stronger party has one more', () => {
    expect(total(seatsFor(rules, place([2500])))).toBe(9)
    expect(mostOfOneParty(rules, 7)).toBe(4)
  })
})

describe('Minn. Stat. 204B.22 (numbers from memory) and 204B.19', () => {
  const minimum = law.from_memory.find((e) => e.id === 'MN-204B.22')!.facts as {
    min_judges_state_general: number
    small_precinct_min: number
  }
  const { cite } = statute('MN-204B.19')
  const rules = table(
    cite,
    [
      {
        position: 'judge',
        per: 'precinct',
        count: {
          kind: 'steps',
          steps: [
            { upTo: 499, seats: minimum.small_precinct_min },
            { upTo: null, seats: minimum.min_judges_state_general },
          ],
        },
      },
    ],
    { sameParty: 'atMostHalfRoundedUp' },
  )

  it('is four at a state general election, three in a precinct under 500', () => {
    const seats = seatsFor(rules, place([499, 500]))
    expect([ofPrecinct(seats, 1), ofPrecinct(seats, 2)]).toEqual([3, 4])
  })

  it('lets half be of one party, in an odd board one more', () => {
    expect([3, 4, 5].map((n) => mostOfOneParty(rules, n))).toEqual([2, 2, 3])
  })
})

describe('10 ILCS 5/13-1, 13-2', () => {
  const { cite, facts } = statute('IL-13-1')
  const reduced = ['emergency referendum', 'odd-year regular', 'special']
  const rules = table(cite, [
    {
      position: 'judge',
      per: 'precinct',
      when: { electionKinds: ['general', 'primary'] },
      count: fixed(facts.judges_per_precinct as number),
    },
    {
      position: 'judge',
      per: 'precinct',
      when: { electionKinds: reduced },
      count: fixed(facts.reduced_to as number),
    },
    {
      position: 'tally',
      per: 'precinct',
      when: { over: facts.tally_team_when_registered_over },
      count: fixed(facts.tally_team_size as number),
    },
  ])

  it('is five judges, or three at a special election', () => {
    expect(total(seatsFor(rules, place([400])))).toBe(5)
    for (const electionKind of reduced) expect(total(seatsFor(rules, place([400], { electionKind })))).toBe(3)
  })

  it('adds a tally team of five where more than 600 are registered', () => {
    expect(total(seatsFor(rules, place([600])))).toBe(5)
    expect(total(seatsFor(rules, place([601])))).toBe(10)
  })
})

describe('Ariz. Rev. Stat. 16-531(A)', () => {
  const { cite, facts } = statute('AZ-16-531')
  const board = facts.board as unknown as Record<string, number | string>
  const rules = table(
    cite,
    [
      ...(['inspector', 'marshal', 'judges'] as const).map((position) => ({
        position,
        per: 'precinct',
        count: fixed(board[position] as number),
        legalMinimum: true,
      })),
      // 'As needed': the county's own number.
      { position: 'clerks', per: 'precinct', count: { kind: 'each', voters: 750, least: 0 } },
    ],
    { sameParty: 'atMostHalf' },
  )

  it('is an inspector, a marshal, two judges, and clerks as needed', () => {
    const seats = seatsFor(rules, place([700]))
    expect(seats.map((g) => [g.position, g.seats, g.legalMinimum])).toEqual([
      ['inspector', 1, 1],
      ['marshal', 1, 1],
      ['judges', 2, 2],
      ['clerks', 1, 0],
    ])
    expect(mostOfOneParty(rules, 4)).toBe(2)
  })
})

describe('a rule table', () => {
  it('counts each started number of voters, within its limits', () => {
    const each = { kind: 'each', voters: 700, least: 2, most: 4 } as const
    expect([0, 700, 701, 1400, 1401, 2101, 9000].map((v) => countSeats(each, v))).toEqual([
      2, 2, 2, 2, 3, 4, 4,
    ])
  })

  it('gives each dated shift its own seats, and early voting its own rules', () => {
    const rules = table('test', [
      { position: 'lead', per: 'place', count: fixed(1) },
      {
        position: 'line',
        per: 'place',
        when: { phases: ['electionDay'] },
        count: fixed(2),
        shifts: ['morning', 'afternoon'],
      },
    ])
    const seats = seatsFor(
      rules,
      place([500], {
        openOn: [
          { on: '2026-10-31', phase: 'earlyVoting' },
          { on: '2026-11-03', phase: 'electionDay' },
        ],
      }),
    )
    expect(seats.map((g) => [g.on, g.position, g.shift, g.seats])).toEqual([
      ['2026-10-31', 'lead', 'full', 1],
      ['2026-11-03', 'lead', 'full', 1],
      ['2026-11-03', 'line', 'morning', 2],
      ['2026-11-03', 'line', 'afternoon', 2],
    ])
  })

  it('adds up rules of one position and shift, and leaves out groups of none', () => {
    const rules = table('test', [
      { position: 'judge', per: 'place', count: fixed(2), legalMinimum: true },
      { position: 'judge', per: 'place', when: { over: 1000 }, count: fixed(3) },
      { position: 'clerk', per: 'place', count: fixed(0) },
    ])
    expect(seatsFor(rules, place([600, 600])).map((g) => [g.position, g.seats, g.legalMinimum])).toEqual([
      ['judge', 5, 2],
    ])
  })

  it('shares a place’s crew among its precincts by their voters together', () => {
    const rules = table('test', [
      { position: 'check-in', per: 'place', count: { kind: 'each', voters: 1000 } },
    ])
    expect(total(seatsFor(rules, place([400, 400, 400])))).toBe(2)
    const each = table('test', [
      { position: 'check-in', per: 'precinct', count: { kind: 'each', voters: 1000 } },
    ])
    expect(total(seatsFor(each, place([400, 400, 400])))).toBe(3)
  })

  it('never loses a seat when a precinct grows, for rules without steps down', () => {
    const rules = table('test', [
      { position: 'a', per: 'precinct', count: { kind: 'each', voters: 333, least: 1, most: 7 } },
      {
        position: 'b',
        per: 'place',
        count: {
          kind: 'steps',
          steps: [
            { upTo: 100, seats: 1 },
            { upTo: 900, seats: 2 },
            { upTo: null, seats: 5 },
          ],
        },
      },
    ])
    let before = 0
    for (let voters = 0; voters < 3000; voters += 17) {
      const now = total(seatsFor(rules, place([voters, 200])))
      expect(now).toBeGreaterThanOrEqual(before)
      before = now
    }
  })

  it('is refused where its steps don’t go up', () => {
    const steps = [
      { upTo: 500, seats: 1 },
      { upTo: 400, seats: 2 },
    ]
    expect(() => table('test', [{ position: 'a', per: 'place', count: { kind: 'steps', steps } }])).toThrow(
      'steps must go up',
    )
  })
})
