import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { erlangB, erlangC, fewestStations, waiting } from '@/lib/crews/core/erlang'

/** tests/reference/queueing/SOURCE.md: an R package and a second recursion, equal to 1e-10. Printed to 13 digits. */
const load = <T>(file: string): T[] => JSON.parse(readFileSync(`tests/reference/queueing/${file}`, 'utf8'))
const grid = load<{ c: number; a: number; B: number; C: number }>('erlang_bc_grid.json')
const lines = load<{
  lambda_per_h: number
  mu_per_h: number
  servers: number
  erlang_b: number
  erlang_c: number
  Lq: number
  Wq_min: number
  P_wait_gt_30min: number
}>('mmc_reference.json')

/** Relative error; the reference's 13 digits allow 1e-12 or so. */
const off = (got: number | null, wanted: number) => Math.abs(got! - wanted) / Math.abs(wanted)

describe('Erlang B and C', () => {
  it('agree with every row of the grid', () => {
    expect(grid.length).toBe(100)
    for (const { c, a, B, C } of grid) {
      expect(off(erlangB(a, c), B), `B of ${a} on ${c}`).toBeLessThan(1e-11)
      expect(off(erlangC(a, c), C), `C of ${a} on ${c}`).toBeLessThan(1e-11)
    }
  })

  it('agree with every line of the reference: chance, queue, wait, chance over 30 minutes', () => {
    expect(lines.length).toBe(62)
    for (const r of lines) {
      const w = waiting({
        arrivalsPerHour: r.lambda_per_h,
        servicePerHour: r.mu_per_h,
        servers: r.servers,
        thresholdMinutes: 30,
      })
      const of = `${r.lambda_per_h}/${r.mu_per_h} on ${r.servers}`
      expect(off(erlangB(r.lambda_per_h / r.mu_per_h, r.servers), r.erlang_b), of).toBeLessThan(1e-11)
      expect(off(w.chanceOfWaiting, r.erlang_c), of).toBeLessThan(1e-11)
      expect(off(w.meanQueue, r.Lq), of).toBeLessThan(1e-11)
      expect(off(w.meanWaitMinutes, r.Wq_min), of).toBeLessThan(1e-11)
      // The exponent multiplies an error in the spare rate; far below anything that could be measured.
      expect(off(w.chanceOverThreshold, r.P_wait_gt_30min), of).toBeLessThan(1e-9)
    }
  })

  it('agrees with another program’s test: 9 an hour, 5 each, 4 stations (mean queue .105, mean time .212 h)', () => {
    const w = waiting({ arrivalsPerHour: 9, servicePerHour: 5, servers: 4, thresholdMinutes: 30 })
    // The time in the system is the wait plus a service of 1/5 hour.
    expect(w.meanQueue).toBeCloseTo(0.105, 3)
    expect(w.meanWaitMinutes! / 60 + 1 / 5).toBeCloseTo(0.212, 3)
  })

  it('keeps Little’s law: queue = arrivals × wait', () => {
    for (const r of lines) {
      const w = waiting({
        arrivalsPerHour: r.lambda_per_h,
        servicePerHour: r.mu_per_h,
        servers: r.servers,
        thresholdMinutes: 5,
      })
      expect(off(w.meanQueue, (r.lambda_per_h * w.meanWaitMinutes!) / 60)).toBeLessThan(1e-12)
    }
  })

  it('stays exact where factorials overflow', () => {
    // One station more than the load, a thousand stations: B is near sqrt(2/(π·n)) (Jagerman 1974, from memory).
    const b = erlangB(1000, 1000)
    expect(b).toBeGreaterThan(0.02)
    expect(b).toBeLessThan(Math.sqrt(2 / (Math.PI * 1000)))
    // B must solve its own forward recursion, B(c) = aB(c−1)/(c + aB(c−1)), which goes another way.
    let forward = 1
    for (let c = 1; c <= 1000; c++) forward = (1000 * forward) / (c + 1000 * forward)
    expect(off(b, forward)).toBeLessThan(1e-12)
  })
})

describe('lines that don’t settle, and empty ones', () => {
  it('says that everybody waits and nothing settles where the stations can’t keep up', () => {
    for (const arrivalsPerHour of [60, 90])
      expect(waiting({ arrivalsPerHour, servicePerHour: 30, servers: 2, thresholdMinutes: 30 })).toEqual({
        chanceOfWaiting: 1,
        meanQueue: null,
        meanWaitMinutes: null,
        chanceOverThreshold: 1,
      })
  })

  it('nobody waits where nobody comes', () => {
    expect(waiting({ arrivalsPerHour: 0, servicePerHour: 30, servers: 1, thresholdMinutes: 0 })).toEqual({
      chanceOfWaiting: 0,
      meanQueue: 0,
      meanWaitMinutes: 0,
      chanceOverThreshold: 0,
    })
  })

  it.each([
    { arrivalsPerHour: -1, servicePerHour: 30, servers: 1, thresholdMinutes: 30 },
    { arrivalsPerHour: 1, servicePerHour: 0, servers: 1, thresholdMinutes: 30 },
    { arrivalsPerHour: 1, servicePerHour: 30, servers: 1.5, thresholdMinutes: 30 },
    { arrivalsPerHour: 1, servicePerHour: 30, servers: 1, thresholdMinutes: -1 },
    { arrivalsPerHour: Number.NaN, servicePerHour: 30, servers: 1, thresholdMinutes: 1 },
  ])('refuses %j', (line) => expect(() => waiting(line)).toThrow(RangeError))
})

describe('the fewest stations', () => {
  it('is 6 for 30 an hour of 5 minutes each where nine in ten shall not wait (the reference’s own note)', () => {
    // A wait 'over 0 minutes' is any wait.
    const found = fewestStations(
      { arrivalsPerHour: 30, servicePerHour: 12, thresholdMinutes: 0 },
      { chanceOverThreshold: 0.1 },
    )
    expect(found).toMatchObject({ status: 'found', servers: 6 })
  })

  it('is the least number whose row of the reference keeps the target', () => {
    for (const arrivalsPerHour of [30, 60, 90, 120]) {
      const rows = lines.filter((r) => r.lambda_per_h === arrivalsPerHour && r.mu_per_h === 30)
      const wanted = Math.min(...rows.filter((r) => r.Wq_min <= 0.5).map((r) => r.servers))
      const found = fewestStations(
        { arrivalsPerHour, servicePerHour: 30, thresholdMinutes: 30 },
        { meanWaitMinutes: 0.5 },
      )
      expect(found).toMatchObject({ status: 'found', servers: wanted })
    }
  })

  it('never settles for a line that grows, even without targets, and says when no number is enough', () => {
    const line = { arrivalsPerHour: 100, servicePerHour: 30, thresholdMinutes: 30 }
    expect(fewestStations(line, {})).toMatchObject({ status: 'found', servers: 4 })
    expect(fewestStations(line, {}, 3)).toMatchObject({ status: 'tooFew', most: 3 })
  })
})
