import { describe, expect, it } from 'vitest'
import {
  applyCrews,
  CrewRulesInput,
  changeCrewByHand,
  HandChangeInput,
  publishCrewRules,
} from '@/lib/crews/commands'
import { getCrews } from '@/lib/crews/queries'
import { db } from '@/lib/db/client'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents, HELD_ON, makeSmallCounty, type SmallCounty } from '../roster/support'

useDatabase()

/** One line a rule: position, seats, legal minimum. */
const rules = (c: SmallCounty, lines: [string, string, string?][], more: object = {}) =>
  CrewRulesInput.parse({
    countyId: c.countyId,
    fromVersion: '0',
    citation: 'County code 7',
    sameParty: 'atMostHalf',
    position: lines.map((l) => l[0]),
    count: lines.map((l) => l[1]),
    per: lines.map(() => 'place'),
    phase: lines.map(() => 'electionDay'),
    kind: lines.map(() => ''),
    over: lines.map(() => ''),
    upTo: lines.map(() => ''),
    shifts: lines.map(() => 'full'),
    legal: lines.map((l) => l[2] ?? 'no'),
    ruleCitation: lines.map(() => ''),
    rest: lines.map(() => ''),
    turnoutPercent: '40',
    waitingPercent: '5',
    opensAtHour: '7',
    checkInMinutes: '2',
    votingMinutes: '5',
    hourPercents: '50, 50',
    demandSource: 'counted in 2026',
    ...more,
  })
const LINES: [string, string, string?][] = [
  ['lead', '1', 'yes'],
  ['check-in', '2', 'yes'],
]
const plan = (c: SmallCounty) => getCrews(c.clerk, c.countyId, c.electionId, { page: 1 })

describe('a county’s crew rules', () => {
  it('begin with the template and are published as versions with the county’s own citation', async () => {
    const c = await makeSmallCounty()
    expect((await plan(c)).rules.version).toBe(0)
    expect(await publishCrewRules(c.clerk, rules(c, LINES))).toBe(1)
    const { rules: published } = await plan(c)
    expect(published).toMatchObject({ version: 1, citation: 'County code 7' })
    expect(published.ruleTable).toMatchObject({ sameParty: 'atMostHalf', citation: 'County code 7' })
    expect(published.demand.shareByHour).toEqual([0.5, 0.5])
    // From an old page.
    await expect(publishCrewRules(c.clerk, rules(c, LINES))).rejects.toMatchObject({ code: 'CONFLICT' })
    expect(await auditEvents(c.countyId)).toEqual(['crew-rules.published'])
  })

  it('are refused line by line, with how to put it right, and then nothing is published', async () => {
    const c = await makeSmallCounty()
    const why = async (input: ReturnType<typeof rules>) =>
      publishCrewRules(c.clerk, input).then(
        () => 'published',
        (error) => error.userMessage as string,
      )
    expect(await why(rules(c, [['marshal', '1']]))).toContain('Rule 1: the county has no position “marshal”')
    expect(
      await why(
        rules(c, [
          ['lead', '1'],
          ['lead', 'some'],
        ]),
      ),
    ).toContain('Rule 2: write the seats like')
    expect(await why(rules(c, LINES, { over: ['many', ''] }))).toContain('Rule 1: “many” is no number')
    expect(await why(rules(c, LINES, { hourPercents: '50, 40' }))).toContain('they sum to 90')
    expect(await why(rules(c, [['', '']]))).toContain('at least one rule')
    expect(await why(rules(c, LINES, { rest: ['{"x":1}', ''] }))).toContain('Rule 1: its other conditions')
    expect(await db().crewRules.count({ where: { countyId: c.countyId } })).toBe(0)
    await expect(publishCrewRules(actorWith('trainer', c.countyId), rules(c, LINES))).rejects.toMatchObject({
      code: 'FORBIDDEN',
    })
  })

  it('keep conditions that the form has no field for', async () => {
    const c = await makeSmallCounty()
    const rest = JSON.stringify({ features: ['downtown'] })
    await publishCrewRules(c.clerk, rules(c, LINES, { rest: ['', rest] }))
    await db().pollingPlace.update({ where: { id: c.places.north }, data: { features: ['downtown'] } })
    const crews = await plan(c)
    expect(crews.places.map((p) => [p.code, p.seats])).toEqual([
      ['N', 3],
      ['S', 1],
    ])
  })
})

describe('the seats of an election', () => {
  it('become what rules and hands say, as the preview showed it', async () => {
    const c = await makeSmallCounty()
    await publishCrewRules(c.clerk, rules(c, LINES))
    const hand = (change: number, reason: string) =>
      changeCrewByHand(
        c.clerk,
        HandChangeInput.parse({
          countyId: c.countyId,
          electionId: c.electionId,
          placeId: c.places.north,
          positionKey: 'check-in',
          servesOn: HELD_ON,
          shift: 'full',
          change,
          reason,
        }),
      )
    await expect(hand(1, '')).rejects.toMatchObject({ code: 'INVALID_INPUT' })
    await hand(1, 'a long line in spring')
    // There are: north lead 1, check-in 1; south lead 1, morning and afternoon check-in.
    // Wanted: north lead 1, check-in 2 + 1; south lead 1, check-in 2.
    const before = await plan(c)
    expect(before.totals).toMatchObject({ seats: 7, fromRules: 6, byHand: 1 })
    expect(before.difference).toMatchObject({ add: 4, remove: 2, removeTaken: 0, stay: 0 })
    const apply = { countyId: c.countyId, electionId: c.electionId, token: before.difference.token }
    expect(await applyCrews(c.clerk, apply)).toEqual({ added: 4, removed: 2 })
    const seats = await db().seat.findMany({ where: { electionId: c.electionId } })
    expect(seats).toHaveLength(7)
    expect(seats.filter((s) => s.legalMinimum)).toHaveLength(6)
    const after = await plan(c)
    expect(after.difference).toMatchObject({ add: 0, remove: 0, mark: 0 })
    await expect(applyCrews(c.clerk, apply)).rejects.toMatchObject({ code: 'CONFLICT' })
    await hand(0, '')
    expect((await plan(c)).totals.byHand).toBe(0)
  })

  it('go from under a draft’s people when they must, and never from under a published roster', async () => {
    const c = await makeSmallCounty()
    await publishCrewRules(c.clerk, rules(c, [['lead', '1']]))
    const seatOne = async (version: number, seatId: string, workerId: string) => {
      const roster = await db().roster.create({
        data: { countyId: c.countyId, electionId: c.electionId, version },
      })
      await db().seating.create({
        data: {
          countyId: c.countyId,
          rosterId: roster.id,
          seatId,
          pollWorkerId: workerId,
          morningOn: HELD_ON,
          afternoonOn: seatId === c.seats.southMorning ? null : HELD_ON,
        },
      })
      return roster.id
    }
    const published = await seatOne(1, c.seats.northCheckIn, c.people.ben)
    await db().roster.update({ where: { id: published }, data: { publishedAt: new Date() } })
    const draft = await seatOne(2, c.seats.southMorning, c.people.cleo)
    const { difference } = await plan(c)
    expect(difference).toMatchObject({ add: 0, remove: 2, removeTaken: 1, stay: 1 })
    await applyCrews(c.clerk, { countyId: c.countyId, electionId: c.electionId, token: difference.token })
    const left = await db().seat.findMany({ where: { electionId: c.electionId } })
    expect(left.map((s) => s.id).sort()).toEqual(
      [c.seats.northLead, c.seats.northCheckIn, c.seats.southLead].sort(),
    )
    expect(await db().seating.count({ where: { rosterId: published } })).toBe(1)
    expect(await db().roster.findUnique({ where: { id: draft } })).toMatchObject({ revision: 1 })
  })

  it('cost what the county’s rates say, by the hours of each place', async () => {
    const c = await makeSmallCounty()
    await publishCrewRules(c.clerk, rules(c, LINES))
    await db().county.update({
      where: { id: c.countyId },
      data: { settings: { payRates: { lead: { perDayCents: 20000 }, 'check-in': { perHourCents: 1200 } } } },
    })
    await db().opening.create({
      data: { countyId: c.countyId, pollingPlaceId: c.places.north, opensAt: '07:00', closesAt: '20:00' },
    })
    const { places, totals } = await plan(c)
    // North: lead 200 $; two at check-in for 13 + 2 hours at 12 $: 360 $. South: no hours known, so the two of the
    // demand profile and 2 more: 200 $ + 2 × 4 × 12 $.
    expect(places.map((p) => p.costCents)).toEqual([56000, 29600])
    expect(totals).toMatchObject({ costCents: 85600, withoutRate: [] })
  })

  it('are for the county’s staff alone', async () => {
    const c = await makeSmallCounty()
    const token = (await plan(c)).difference.token
    for (const [actor, code] of [
      [actorWith('trainer', c.countyId), 'FORBIDDEN'],
      [actorWith('countyStaff', 'elsewhere'), 'NOT_FOUND'],
    ] as const) {
      await expect(
        applyCrews(actor, { countyId: c.countyId, electionId: c.electionId, token }),
      ).rejects.toMatchObject({ code })
      await expect(getCrews(actor, c.countyId, c.electionId, { page: 1 })).rejects.toMatchObject({ code })
    }
    const other = await makeSmallCounty()
    await expect(getCrews(c.clerk, c.countyId, other.electionId, { page: 1 })).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
    expect(await db().seat.count({ where: { electionId: c.electionId } })).toBe(5)
  })
})
