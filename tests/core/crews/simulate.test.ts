import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { waiting } from '@/lib/crews/core/erlang'
import { type DayLine, dayLineOf, simulateDay } from '@/lib/crews/core/simulate'
import { fewestStationsForDay } from '@/lib/crews/core/stations'
import { estimate, normalQuantile, studentQuantile } from '@/lib/crews/core/student'

const steady = (arrivals: number, service: number, servers: number): DayLine => ({
  arrivalsPerHour: [arrivals],
  intervalMinutes: 60 * 200,
  waitingAtOpening: 0,
  meanServiceMinutes: 60 / service,
  serviceShape: 1,
  servers,
  thresholdMinutes: 3,
})

describe('the simulation of a steady line', () => {
  it(
    'agrees with Erlang C: nearly all within its own 95 % interval, all within its 99.9 % interval',
    () => {
      const rows = (
        JSON.parse(readFileSync('tests/reference/queueing/mmc_reference.json', 'utf8')) as {
          lambda_per_h: number
          mu_per_h: number
          servers: number
        }[]
      ).filter((r) => r.lambda_per_h / r.mu_per_h / r.servers <= 0.86)
      const tried = process.env.TEST_FULL === '1' ? rows : rows.filter((_, i) => i % 3 === 0)
      let inside = 0
      let checks = 0
      for (const [i, r] of tried.entries()) {
        const line = steady(r.lambda_per_h, r.mu_per_h, r.servers)
        const exact = waiting({
          arrivalsPerHour: r.lambda_per_h,
          servicePerHour: r.mu_per_h,
          servers: r.servers,
          thresholdMinutes: line.thresholdMinutes,
        })
        // 20 hours until the line has settled are not counted: over 60 mean services at every row.
        const plan = { repetitions: 40, seed: i + 1, warmUpMinutes: 20 * 60 }
        const narrow = simulateDay(line, { ...plan, confidence: 0.95 })
        const wide = simulateDay(line, { ...plan, confidence: 0.999 })
        for (const measure of ['meanWaitMinutes', 'chanceOfWaiting', 'chanceOverThreshold'] as const) {
          const wanted = exact[measure]!
          // Events rarer than one in a thousand are not seen often enough to say anything.
          if ((measure === 'meanWaitMinutes' ? exact.chanceOfWaiting : wanted) < 1e-3) continue
          const of = `${measure} of ${r.lambda_per_h}/${r.mu_per_h} on ${r.servers}: ${wanted}`
          expect(wide[measure].low, of).toBeLessThanOrEqual(wanted)
          expect(wide[measure].high, of).toBeGreaterThanOrEqual(wanted)
          checks++
          if (narrow[measure].low <= wanted && wanted <= narrow[measure].high) inside++
        }
      }
      if (process.env.TEST_FULL === '1') console.info(`${inside} of ${checks} within 95 %`)
      expect(checks).toBeGreaterThan(30)
      // 95 % are expected; fewer than 85 % of some 40 would happen by chance less than once in 100 tries.
      expect(inside / checks).toBeGreaterThan(0.85)
    },
    5 * 60_000,
  )

  it('agrees with Pollaczek and Khinchine where service varies less: one station, Erlang-4', () => {
    // Wq = ρ/(1−ρ) · (1 + cv²)/2 · mean service; cv² = 1/4. ρ = 0.8, 2 minutes: 4 · 0.625 · 2 = 5 minutes.
    const line = { ...steady(24, 30, 1), serviceShape: 4 }
    const result = simulateDay(line, { repetitions: 60, seed: 5, confidence: 0.99, warmUpMinutes: 20 * 60 })
    expect(result.meanWaitMinutes.low).toBeLessThanOrEqual(5)
    expect(result.meanWaitMinutes.high).toBeGreaterThanOrEqual(5)
    expect(result.meanWaitMinutes.high - result.meanWaitMinutes.low).toBeLessThan(1)
  })
})

describe('the opening rush', () => {
  const rush: DayLine = {
    arrivalsPerHour: [0, 0],
    intervalMinutes: 60,
    waitingAtOpening: 10,
    meanServiceMinutes: 2,
    serviceShape: 50,
    servers: 1,
    thresholdMinutes: 30,
  }

  it('ten people before one station wait 0, 2, 4 … 18 minutes: 9 on average', () => {
    // Erlang-50 services are nearly constant; their mean decides: (0 + 2 + … + 18)/10 = 9.
    const { meanWaitMinutes, longestWaitMinutes, chanceOfWaiting, overtimeMinutes } = simulateDay(rush, {
      repetitions: 400,
      seed: 3,
      confidence: 0.999,
      warmUpMinutes: 0,
    })
    for (const [got, wanted] of [
      [meanWaitMinutes, 9],
      [longestWaitMinutes, 18],
    ] as const) {
      expect(got.low).toBeLessThanOrEqual(wanted)
      expect(got.high).toBeGreaterThanOrEqual(wanted)
      expect(got.high - got.low).toBeLessThan(0.3)
    }
    expect(chanceOfWaiting.mean).toBeCloseTo(0.9, 10)
    expect(overtimeMinutes.mean).toBe(0)
  })

  it('is seen in the hours: the first waits longer than a later one of the same rate', () => {
    const line = { ...rush, arrivalsPerHour: [40, 40, 40], waitingAtOpening: 30, servers: 2, serviceShape: 1 }
    const { intervals } = simulateDay(line, { repetitions: 200, seed: 1, confidence: 0.99, warmUpMinutes: 0 })
    expect(intervals[0]!.meanWaitMinutes.low).toBeGreaterThan(intervals[2]!.meanWaitMinutes.high)
    expect(intervals.map((i) => i.fromMinute)).toEqual([0, 60, 120])
  })

  it('grows at the rate by which people outnumber services, and is worked off after closing', () => {
    // 90 an hour against 60: 30 more in line each hour, and half an hour of work left for each 30.
    const line = { ...rush, arrivalsPerHour: [90, 90], waitingAtOpening: 0, servers: 2, serviceShape: 1 }
    const r = simulateDay(line, { repetitions: 400, seed: 2, confidence: 0.999, warmUpMinutes: 0 })
    // The line begins empty, so stations idle a little at first: at most a few people above 30 and 60.
    expect(r.intervals[0]!.queueAtEnd.mean).toBeGreaterThan(27)
    expect(r.intervals[0]!.queueAtEnd.mean).toBeLessThan(33)
    expect(r.intervals[1]!.queueAtEnd.mean).toBeGreaterThan(56)
    expect(r.intervals[1]!.queueAtEnd.mean).toBeLessThan(64)
    expect(r.overtimeMinutes.mean).toBeGreaterThan(56)
    expect(r.overtimeMinutes.mean).toBeLessThan(66)
  })

  it('gives the same day for the same seed, and another for another', () => {
    const line = { ...rush, arrivalsPerHour: [60, 30] }
    const plan = { repetitions: 20, seed: 9, confidence: 0.95, warmUpMinutes: 0 }
    expect(simulateDay(line, plan)).toEqual(simulateDay(line, plan))
    expect(simulateDay(line, { ...plan, seed: 10 })).not.toEqual(simulateDay(line, plan))
  })

  it('more stations never make anybody’s mean wait longer', () => {
    const line = { ...rush, arrivalsPerHour: [120, 60, 90], serviceShape: 1 }
    const waits = [1, 2, 3, 4, 5, 6].map(
      (servers) =>
        simulateDay({ ...line, servers }, { repetitions: 20, seed: 4, confidence: 0.95, warmUpMinutes: 0 })
          .meanWaitMinutes.mean,
    )
    expect(waits).toEqual([...waits].sort((a, b) => b - a))
  })

  it('refuses what can’t be', () => {
    expect(() => simulateDay({ ...rush, servers: 0 })).toThrow('servers')
    expect(() => simulateDay({ ...rush, arrivalsPerHour: [-1] })).toThrow('arrivalsPerHour')
    expect(() => simulateDay({ ...rush, waitingAtOpening: 1.5 })).toThrow('waitingAtOpening')
    expect(() => simulateDay(rush, { repetitions: 5, seed: 1, confidence: 0.95, warmUpMinutes: 0 })).toThrow(
      'repetitions',
    )
  })
})

describe('the fewest stations for a day', () => {
  const demand = {
    turnoutFraction: 0.4,
    waitingAtOpeningFraction: 0.05,
    shareByHour: [0.4, 0.2, 0.2, 0.2],
    opensAtHour: 7,
    checkInMinutes: 2,
    votingMinutes: 6,
    source: 'test',
  }
  const { servers: _servers, ...line } = dayLineOf(demand, 1000, {
    servers: 1,
    meanServiceMinutes: 2,
    thresholdMinutes: 30,
  })

  it('turns a profile into people an hour', () => {
    // 1,000 × 0.4 = 400 voters; 5 % = 20 stand there; 380 come: 152, 76, 76, 76.
    expect(line.waitingAtOpening).toBe(20)
    expect(line.arrivalsPerHour.map((n) => Math.round(n * 1e6) / 1e6)).toEqual([152, 76, 76, 76])
  })

  it('keeps the target with its number and not with one less', () => {
    const targets = { chanceOverThreshold: 0.05, meanWaitMinutes: 5 }
    const found = fewestStationsForDay(line, targets)
    expect(found.status).toBe('found')
    if (found.status !== 'found') return
    expect(found.outcome.meanWaitMinutes.high).toBeLessThanOrEqual(5)
    const less = simulateDay({ ...line, servers: found.servers - 1 })
    expect(less.meanWaitMinutes.high > 5 || less.chanceOverThreshold.high > 0.05).toBe(true)
    expect(fewestStationsForDay(line, targets, undefined, found.servers - 1).status).toBe('tooFew')
  })
})

describe('quantiles', () => {
  it('agree with the printed tables of the normal and of Student’s t', () => {
    // Standard normal and t tables as in any statistics text.
    for (const [p, z] of [
      [0.9, 1.28155],
      [0.975, 1.95996],
      [0.995, 2.57583],
      [0.9995, 3.29053],
      [0.5, 0],
    ] as const)
      expect(normalQuantile(p)).toBeCloseTo(z, 5)
    for (const [p, df, t] of [
      [0.975, 10, 2.228],
      [0.975, 19, 2.093],
      [0.975, 29, 2.045],
      [0.975, 60, 2.0],
      [0.995, 19, 2.861],
      [0.995, 40, 2.704],
      [0.9995, 19, 3.883],
      [0.9995, 30, 3.646],
    ] as const)
      expect(Math.abs(studentQuantile(p, df) - t)).toBeLessThan(0.0015)
    expect(normalQuantile(0.025)).toBeCloseTo(-1.95996, 5)
  })

  it('gives the interval of a hand calculation', () => {
    // Values 1…21: mean 11, sample variance 38.5, t(0.975, 20) = 2.086: half-width 2.086·√(38.5/21) = 2.8244.
    const { mean, low, high } = estimate(
      Array.from({ length: 21 }, (_, i) => i + 1),
      0.95,
    )
    expect(mean).toBe(11)
    expect(high - mean).toBeCloseTo(2.8244, 3)
    expect(mean - low).toBeCloseTo(2.8244, 3)
  })
})
