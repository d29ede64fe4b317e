import { describe, expect, it } from 'vitest'
import { loadCrewTemplates } from '@/lib/crews/content'
import { crewDifference, type PresentSeat, wantedSeats } from '@/lib/crews/core/crew-plan'
import { estimateLine } from '@/lib/crews/core/estimate'
import { conditionsBeyondForm, countText, readCount } from '@/lib/crews/core/rule-text'
import type { SeatGroup } from '@/lib/crews/core/seats'
import type { SeatCount } from '@/lib/crews/schema'
import type { CivilDate } from '@/lib/kernel/dates'

const on = '2028-11-07' as CivilDate
const at = { placeId: 'p', position: 'check-in', on, shift: 'full' }
const group = (seats: number, legalMinimum = 0, precinctId: string | null = null): SeatGroup => ({
  ...at,
  precinctId,
  phase: 'electionDay',
  seats,
  legalMinimum,
})
const seat = (number: number, more: Partial<PresentSeat> = {}): PresentSeat => ({
  id: `s${number}`,
  ...at,
  number,
  legalMinimum: false,
  fixed: false,
  taken: false,
  ...more,
})

describe('the seats of a crew', () => {
  it('add up over precincts, with hand changes kept apart, and never fall below none', () => {
    expect(wantedSeats([group(2, 1, 'a'), group(3, 3, 'b')], [{ ...at, change: -1 }])).toEqual([
      { ...at, fromRules: 5, byHand: -1, seats: 4, legalMinimum: 4 },
    ])
    expect(wantedSeats([group(1)], [{ ...at, change: -4 }])[0]!.seats).toBe(0)
    expect(wantedSeats([], [{ ...at, change: 2 }])).toMatchObject([{ fromRules: 0, byHand: 2, seats: 2 }])
  })

  it('are added with the numbers that are free, the first ones as the legal minimum', () => {
    const { add, mark } = crewDifference(wantedSeats([group(4, 2)], []), [seat(2), seat(4)])
    expect(add.map((s) => [s.number, s.legalMinimum])).toEqual([
      [1, true],
      [3, false],
    ])
    expect(mark).toEqual([{ id: 's2', legalMinimum: true }])
  })

  it('are taken away empty ones first, then the highest number; published ones stay', () => {
    const present = [seat(1), seat(2, { taken: true }), seat(3, { fixed: true, taken: true }), seat(4)]
    const less = (seats: number) => crewDifference(wantedSeats(seats ? [group(seats)] : [], []), present)
    expect(less(3).remove.map((s) => s.number)).toEqual([4])
    expect(less(2).remove.map((s) => s.number)).toEqual([4, 1])
    expect(less(1).remove.map((s) => s.number)).toEqual([4, 1, 2])
    const none = less(0)
    expect(none.remove.map((s) => s.number)).toEqual([4, 1, 2])
    expect(none.stay.map((s) => s.number)).toEqual([3])
  })

  it('are as wanted after the difference is applied: nothing is left to do', () => {
    const wanted = wantedSeats([group(5, 2)], [])
    const present = [seat(2), seat(7, { taken: true }), seat(9)]
    const { add, remove, mark } = crewDifference(wanted, present)
    const after = [
      ...present
        .filter((s) => !remove.includes(s))
        .map((s) => ({
          ...s,
          legalMinimum: mark.find((m) => m.id === s.id)?.legalMinimum ?? s.legalMinimum,
        })),
      ...add.map((s) => seat(s.number, { id: `n${s.number}`, legalMinimum: s.legalMinimum })),
    ]
    expect(after).toHaveLength(5)
    expect(crewDifference(wanted, after)).toEqual({ add: [], remove: [], stay: [], mark: [] })
  })
})

describe('a number of seats as text', () => {
  it('is read as it was written, for every rule that we ship', () => {
    for (const { ruleTable } of loadCrewTemplates().values())
      for (const rule of ruleTable.rules) {
        expect(readCount(countText(rule.count))).toEqual(rule.count)
        expect(conditionsBeyondForm(rule.when)).toEqual({})
      }
  })

  it('takes three forms and nothing else', () => {
    const read: [string, SeatCount | null][] = [
      ['2', { kind: 'fixed', seats: 2 }],
      ['1 for 1,200 voters', { kind: 'each', voters: 1200, least: 0, most: null }],
      ['1 for 700 voters, 2 to 8', { kind: 'each', voters: 700, least: 2, most: 8 }],
      ['1 for 700, 2 or more', { kind: 'each', voters: 700, least: 2, most: null }],
      [
        'up to 2500: 1; rest: 2',
        {
          kind: 'steps',
          steps: [
            { upTo: 2500, seats: 1 },
            { upTo: null, seats: 2 },
          ],
        },
      ],
      ['rest: 2; up to 2500: 1', null],
      ['two', null],
      ['-1', null],
      ['', null],
      ['1 for 0 voters', null],
    ]
    for (const [text, count] of read) expect(readCount(text), text).toEqual(count)
  })
})

describe('the waiting estimate of a place', () => {
  const { demand } = loadCrewTemplates().get('larkmoor')!

  it('has every hour, the steady values of Erlang C, and says the fewest stations', () => {
    // 1,000 voters at 32 %: 320, of whom 3 % (10) wait at opening; 12 % of the other 310 in the first hour: 37.2.
    const estimate = estimateLine(demand, 1000, 2, 1.5)
    expect(estimate.hours).toHaveLength(13)
    expect(estimate.hours[0]!.arrivals).toBeCloseTo(37.2, 6)
    // One station is busy 37.2 × 1.5 / 60 = 0.93 of the time; two are enough by far.
    expect(estimate.fewest).toBe(2)
    expect(estimate.hours[0]!.steady.chanceOverThreshold).toBeLessThan(0.05)
  })

  it('grows without end in a steady hour that stations can’t keep up with, and simulates it all the same', () => {
    const estimate = estimateLine(demand, 5000, 2, 1.5)
    // 12 % of 1,552 an hour: 186 voters for two stations that serve 80.
    expect(estimate.hours[0]!.steady.meanWaitMinutes).toBeNull()
    expect(estimate.hours[0]!.simulated.mean).toBeGreaterThan(30)
    expect(estimate.repetitions).toBeGreaterThanOrEqual(20)
  })
})
