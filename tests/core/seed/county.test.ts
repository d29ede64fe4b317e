import { readFileSync } from 'node:fs'
import path from 'node:path'
import { describe, expect, it } from 'vitest'
import { addDays, addMonths, type CivilDate, civilDate } from '@/lib/kernel/dates'
import { readSeedContent } from '@/prisma/seed/content'
import { generateAnySize } from '@/prisma/seed/generate'
import { generateDemo } from '@/prisma/seed/larkmoor'
import type { CountyRows } from '@/prisma/seed/rows'
import { mostFillable } from './fillable'

const reference = (file: string) =>
  JSON.parse(readFileSync(path.join(import.meta.dirname, '../../reference', file), 'utf8'))

const content = readSeedContent()
const demoOn = (today: string, seed?: string) => generateDemo({ today: civilDate(today), seed, ...content })
const demo = demoOn('2026-11-25')
const [larkmoor, fennick] = demo.counties as [CountyRows, CountyRows]

/** An ordinary day, two months before an election, its eve, its day, the days after it, a leap day. */
const DATES = ['2026-11-25', '2028-09-01', '2028-11-06', '2028-11-07', '2028-11-08', '2028-02-29']
const countiesOn = new Map(DATES.map((today) => [today, demoOn(today).counties]))
const unique = (values: readonly unknown[]) => new Set(values).size

describe('the demonstration counties', () => {
  it('have the numbers that issue 2 asks for', () => {
    const kinds = larkmoor.pollingPlaces.map(({ kind }) => kind)
    expect(kinds.filter((kind) => kind === 'pollingPlace')).toHaveLength(31)
    expect(kinds.filter((kind) => kind === 'earlyVotingSite')).toHaveLength(2)
    expect(larkmoor.precincts).toHaveLength(42)
    expect(larkmoor.pollWorkers).toHaveLength(460)
    expect(fennick.pollingPlaces).toHaveLength(6)
    expect(fennick.pollWorkers).toHaveLength(40)
    expect([demo.state.id, ...demo.counties.map(({ county }) => county.id)]).toEqual([
      'arden',
      'larkmoor',
      'fennick',
    ])
  })

  it('are the same for the same seed and date, and others for another seed', () => {
    expect(demoOn('2026-11-25')).toEqual(demo)
    const [other] = demoOn('2026-11-25', 'another').counties as [CountyRows]
    expect(other.pollWorkers[10]!.id).not.toBe(larkmoor.pollWorkers[10]!.id)
    const names = (rows: CountyRows) => rows.pollWorkers.slice(4).map(({ familyName }) => familyName)
    expect(names(other)).not.toEqual(names(larkmoor))
  })

  it('keep people, places and ids when only the date moves within a year', () => {
    const [later] = demoOn('2026-12-20').counties as [CountyRows]
    const who = (rows: CountyRows) =>
      rows.pollWorkers.map((p) => [p.id, p.givenName, p.familyName, p.homeLat])
    expect(who(later)).toEqual(who(larkmoor))
    expect(later.pollingPlaces).toEqual(larkmoor.pollingPlaces)
  })

  it('never use an id, a county number, a code or an e-mail address twice', () => {
    const all = demo.counties
    const ids = all.flatMap((c) => [
      ...c.pollWorkers,
      ...c.pollingPlaces,
      ...c.precincts,
      ...c.positions,
      ...c.elections,
      ...c.seats,
      ...c.facts,
      ...c.ruleSets,
      ...c.accounts,
      ...c.grants,
      ...c.cards,
    ])
    expect(unique(ids.map(({ id }) => id))).toBe(ids.length)
    // The shape of RFC 9562, figure 12: version 8 in the 13th digit, variant 10 in the 17th.
    for (const { id } of ids)
      expect(id).toMatch(/^[0-9a-f]{8}-[0-9a-f]{4}-8[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/)
    for (const c of all) {
      expect(unique(c.pollWorkers.map(({ countyRef }) => countyRef))).toBe(c.pollWorkers.length)
      expect(unique(c.pollingPlaces.map(({ code }) => code))).toBe(c.pollingPlaces.length)
      expect(unique(c.pollingPlaces.map(({ name }) => name))).toBe(c.pollingPlaces.length)
      expect(unique(c.precincts.map(({ code }) => code))).toBe(c.precincts.length)
      const seatKeys = c.seats.map((s) =>
        [s.pollingPlaceId, s.positionId, s.servesOn, s.shift, s.number].join(),
      )
      expect(unique(seatKeys)).toBe(c.seats.length)
    }
    const emails = all.flatMap((c) => c.accounts.flatMap(({ email }) => email ?? []))
    expect(unique(emails)).toBe(emails.length)
    // Names that RFC 2606 reserves, and telephone numbers that are kept for fiction.
    for (const email of emails) expect(email).toMatch(/@(example\.(org|net)|(larkmoor|fennick)\.example)$/)
    for (const { phone } of larkmoor.pollWorkers) expect(phone).toMatch(/^555-01\d\d$/)
  })

  it('lie within their borders', () => {
    // Larkmoor: 41.8 to 42.2 N, 90.7 to 91.3 W. Fennick is half as wide and begins at 42.3 N.
    const inside = (lat: number, lon: number, south: number, north: number, west: number, east: number) =>
      lat >= south && lat <= north && lon >= west && lon <= east
    const spots = (c: CountyRows) => [
      ...c.pollingPlaces,
      ...c.precincts,
      ...c.pollWorkers.map((p) => ({ lat: p.homeLat!, lon: p.homeLon! })),
    ]
    for (const { lat, lon } of spots(larkmoor)) expect(inside(lat, lon, 41.8, 42.2, -91.3, -90.7)).toBe(true)
    for (const { lat, lon } of spots(fennick)) expect(inside(lat, lon, 42.3, 42.5, -91.3, -91)).toBe(true)
  })

  it('have ages like those that the Election Administration and Voting Survey found in 2020', () => {
    const found = reference('law/facts.json').read_from_source.find((e: { id: string }) => e.id === 'EAVS')
    const published = found.facts['2020']
    const share = (from: number, to: number) => {
      const ages = larkmoor.pollWorkers.map(({ birthYear }) => 2026 - birthYear!)
      return (100 * ages.filter((age) => age >= from && age <= to).length) / ages.length
    }
    // 460 people: rounding moves a band by at most half a person, 0.11 points.
    expect(Math.abs(share(18, 25) - published.age_18_25_pct)).toBeLessThan(0.5)
    expect(Math.abs(share(26, 40) - published.age_26_40_pct)).toBeLessThan(0.5)
    expect(Math.abs(share(61, 70) - published.age_61_70_pct)).toBeLessThan(0.5)
    expect(Math.abs(share(71, 120) - published.age_71plus_pct)).toBeLessThan(0.5)
  })

  it('have the shares of languages, e-mail and marks that the brief of the demonstration asks for', () => {
    const share = (test: (p: CountyRows['pollWorkers'][number]) => boolean) =>
      larkmoor.pollWorkers.filter(test).length / 460
    expect(share((p) => p.languages.includes('es'))).toBeCloseTo(0.14, 2)
    expect(share((p) => p.languages.includes('en'))).toBeGreaterThan(0.95)
    // The four with a printed card have none besides.
    expect(share((p) => p.email === null)).toBeCloseTo(0.15 + 4 / 460, 1)
    expect(larkmoor.pollWorkers.filter((p) => p.confidentialAddress).length).toBeGreaterThan(2)
    expect(larkmoor.pollWorkers.filter((p) => p.accommodations !== null).length).toBeGreaterThan(10)
    expect(unique(larkmoor.pollingPlaces.map((p) => p.equipmentProfile))).toBe(
      content.equipmentProfiles.length,
    )
  })
})

describe('the election', () => {
  it('is the next federal general election of the published list, after the one before', () => {
    const published: Record<string, string> = reference('dates/published_presidential_election_days.json')
    for (const year of [1996, 2000, 2008, 2016, 2020]) {
      const rows = generateAnySize({
        places: 3,
        people: 12,
        seed: 'x',
        today: civilDate(`${year - 1}-12-31`),
        content,
      })
      expect(rows.elections[1].heldOn).toBe(published[year])
    }
    // 2026 and 2028 by hand: 1 November is a Sunday and a Wednesday, so the first Mondays are the 2nd and the 6th.
    expect(larkmoor.elections.map(({ heldOn }) => heldOn)).toEqual(['2026-11-03', '2028-11-07'])
  })

  it('has the crew of the brief at every place', () => {
    const voters = (placeId: string) =>
      larkmoor.precincts
        .filter((p) => p.pollingPlaceId === placeId)
        .reduce((sum, p) => sum + p.registeredVoters, 0)
    const large = larkmoor.pollingPlaces.filter((p) => p.kind === 'pollingPlace' && voters(p.id) >= 1500)
    // 31 places: lead, deputy, first check-in, scanner, line and access are 5 each; second check-in and first ballot
    // station are one seat in 26 places and two halves in 5; early voting is 2 sites × 5 days × 2.
    expect(larkmoor.seats).toHaveLength(31 * 5 + 26 * 2 + 5 * 4 + large.length + 20)
    expect(large.length).toBeGreaterThan(5)
    expect(larkmoor.seats.filter((s) => s.legalMinimum)).toHaveLength(31 * 3 + 20)
    // 7 November 2028 less seven to three days.
    expect([...new Set(larkmoor.seats.map((s) => s.servesOn))].sort()).toEqual([
      '2028-10-31',
      '2028-11-01',
      '2028-11-02',
      '2028-11-03',
      '2028-11-04',
      '2028-11-07',
    ])
    const certificates = content.policies.map(({ certificateKey }) => certificateKey)
    for (const { certificateKey } of larkmoor.positions) expect(certificates).toContain(certificateKey)
  })

  it('can be filled for about three seats of four by people certified on its day', () => {
    for (const today of ['2026-11-25', '2028-09-01', '2028-11-07'])
      for (const rows of countiesOn.get(today)!.slice(0, 1)) {
        const { seats, filled } = mostFillable(rows, rows.elections[1].heldOn)
        expect(filled / seats).toBeGreaterThan(0.68)
        expect(filled / seats).toBeLessThan(0.82)
      }
  })
})

describe('the histories', () => {
  it.each(DATES)('of a seed on %s lie in the three years before it', (today) => {
    const from = addMonths(civilDate(today), -36)
    for (const { facts, elections } of countiesOn.get(today)!) {
      for (const fact of facts) {
        expect(fact.happenedOn < today && fact.happenedOn >= from).toBe(true)
        expect((fact.recordedAt as Date).toISOString() < today).toBe(true)
        if (fact.kind === 'served') expect(fact.happenedOn).toBe(elections[0].heldOn)
      }
    }
  })

  it('have every kind of fact that the circle needs, and no class on a Sunday', () => {
    const kinds = new Set(larkmoor.facts.map(({ kind }) => kind))
    for (const kind of [
      'lessonFinished',
      'quizPassed',
      'checkOff',
      'classAttended',
      'oathSworn',
      'served',
      'revocation',
    ])
      expect(kinds).toContain(kind)
    const withTrainer = larkmoor.facts.filter((f) => f.kind === 'checkOff' || f.kind === 'classAttended')
    for (const { happenedOn } of withTrainer) expect(new Date(happenedOn).getUTCDay()).not.toBe(0)
    for (const fact of larkmoor.facts.filter((f) => f.kind === 'checkOff' && f.topic === 'card-handling'))
      expect(content.equipmentProfiles).toContain(fact.equipmentProfile)
  })

  it('certify for check-in exactly those with lesson, quiz and check-off in time', () => {
    // 24 months: what was done on 8 November 2026 still counts on 7 November 2028, the day before that doesn't.
    const revoked = new Set(larkmoor.facts.map(({ revokesFactId }) => revokesFactId))
    const byHand = larkmoor.pollWorkers.filter(({ id }) => {
      const own = larkmoor.facts.filter((f) => f.pollWorkerId === id && !revoked.has(f.id))
      return (
        own.some((f) => f.kind === 'lessonFinished' && f.topic === 'card-returned') &&
        own.some(
          (f) => f.kind === 'quizPassed' && f.topic === 'polls-basics' && f.happenedOn >= '2026-11-08',
        ) &&
        own.some((f) => f.kind === 'checkOff' && f.topic === 'card-handling' && f.happenedOn >= '2026-11-08')
      )
    })
    const bySpans = larkmoor.spans.filter(
      (s) =>
        s.certificateKey === 'check-in' &&
        s.validFrom <= '2028-11-07' &&
        (s.validUntil === null || s.validUntil > '2028-11-07'),
    )
    expect(bySpans.map((s) => s.pollWorkerId).sort()).toEqual(byHand.map((p) => p.id).sort())
  })

  it('leave some never trained, some trained and expired, some that expire before election day', () => {
    for (const today of ['2026-11-25', '2028-09-01']) {
      const [rows] = countiesOn.get(today) as [CountyRows]
      const untaught = rows.pollWorkers.filter((p) => !rows.facts.some((f) => f.pollWorkerId === p.id))
      expect(untaught.length).toBeGreaterThan(30)
      const heldOn = rows.elections[1].heldOn
      const holders = (on: string) =>
        new Set(
          rows.spans
            .filter((s) => s.validFrom <= on && (s.validUntil === null || on < s.validUntil))
            .map((s) => s.pollWorkerId),
        )
      const now = holders(today)
      const then = holders(heldOn)
      expect([...now].filter((id) => !then.has(id)).length).toBeGreaterThan(25)
      const ever = new Set(rows.spans.map((s) => s.pollWorkerId))
      expect([...ever].filter((id) => !now.has(id)).length).toBeGreaterThan(20)
    }
  })

  it('put the four people with printed cards at four points of the path', () => {
    for (const today of ['2026-11-25', '2028-09-01']) {
      const [rows] = countiesOn.get(today) as [CountyRows]
      const heldOn = rows.elections[1].heldOn
      const standings = rows.cards.map((card) => {
        const account = rows.accounts.find(({ id }) => id === card.accountId)!
        const facts = rows.facts.filter((f) => f.pollWorkerId === account.pollWorkerId)
        const spans = rows.spans.filter(
          (s) => s.pollWorkerId === account.pollWorkerId && s.certificateKey === 'check-in',
        )
        const holds = (on: string) =>
          spans.some((s) => s.validFrom <= on && (s.validUntil === null || on < s.validUntil))
        return {
          name: account.name,
          locale: account.locale,
          kinds: [...new Set(facts.map(({ kind }) => kind))].slice(0, 3).sort(),
          now: holds(today),
          onElectionDay: holds(heldOn),
        }
      })
      const three = ['checkOff', 'lessonFinished', 'quizPassed']
      expect(standings).toEqual([
        { name: 'Rosa Valdemora', locale: 'es', kinds: [], now: false, onElectionDay: false },
        {
          name: 'Owen Hathersby',
          locale: 'en',
          kinds: ['lessonFinished', 'quizPassed'],
          now: false,
          onElectionDay: false,
        },
        { name: 'June Ashcombe', locale: 'en', kinds: three, now: true, onElectionDay: true },
        { name: 'Walter Brindley', locale: 'en', kinds: three, now: true, onElectionDay: false },
      ])
    }
  })
})

describe('a county of any size', () => {
  it('has as many places and people as asked for', () => {
    const rows = generateAnySize({ places: 40, people: 400, seed: 'x', content })
    expect(rows.pollingPlaces.filter((p) => p.kind === 'pollingPlace')).toHaveLength(40)
    expect(rows.pollWorkers).toHaveLength(400)
    expect(generateAnySize({ places: 40, people: 400, seed: 'x', content })).toEqual(rows)
  })

  it('refuses numbers that fit no county', () => {
    const make = (places: number, people: number, key?: string) => () =>
      generateAnySize({ places, people, seed: 'x', key, content })
    expect(make(0, 10)).toThrow(/places must be a whole number from 1, not 0/)
    expect(make(3, 2.5)).toThrow(/people must be a whole number/)
    expect(make(3, 10, 'No Key')).toThrow(/lower-case/)
  })

  it.runIf(process.env.TEST_FULL === '1')('grows to 4,500 places and 30,000 people', () => {
    const rows = generateAnySize({ places: 4500, people: 30_000, seed: 'x', content })
    expect(rows.pollWorkers).toHaveLength(30_000)
    expect(unique(rows.facts.map(({ id }) => id))).toBe(rows.facts.length)
    const last = addDays(civilDate('2028-09-01'), -1) as CivilDate
    expect(rows.facts.every(({ happenedOn }) => happenedOn <= last)).toBe(true)
  })
})
