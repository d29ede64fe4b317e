import { type Random, seededRandom } from '@/lib/kernel/random'
import type { DemandProfile } from '../schema'
import { type Estimate, estimate } from './student'

/** A day's line with a rate of arrivals that changes by interval, first come first served by equal stations. */
export interface DayLine {
  /** People an hour in each interval, from opening on. */
  arrivalsPerHour: readonly number[]
  intervalMinutes: number
  /** People who already stand there when the doors open. */
  waitingAtOpening: number
  meanServiceMinutes: number
  /** 1: exponential service times. k: Erlang-k, which vary less (their deviation is the mean ÷ √k). */
  serviceShape: number
  servers: number
  thresholdMinutes: number
}

export interface SimulationPlan {
  /** Independent days; 20 or more. */
  repetitions: number
  seed: number
  /** Two-sided, 0 to 1. */
  confidence: number
  /** People who come before this are served but not counted. */
  warmUpMinutes: number
}

export interface IntervalOutcome {
  fromMinute: number
  meanWaitMinutes: Estimate
  /** People waiting when the interval ends. */
  queueAtEnd: Estimate
}

export interface DayOutcome {
  /** Of everybody counted in a day. */
  meanWaitMinutes: Estimate
  chanceOfWaiting: Estimate
  chanceOverThreshold: Estimate
  longestWaitMinutes: Estimate
  /** Minutes after the last interval until the last person is served; 0 where the line is gone by then. */
  overtimeMinutes: Estimate
  intervals: IntervalOutcome[]
}

export const DEFAULT_PLAN: SimulationPlan = { repetitions: 200, seed: 1, confidence: 0.95, warmUpMinutes: 0 }

/** Simulates a day many times. In each interval people come as a Poisson stream of its rate; each takes the station
 *  that is free first; those in line at closing are still served. The same seed gives the same outcome, and the same
 *  people at the same times whatever the number of servers, so that two numbers of servers can be compared.
 *  Days without anybody count as no wait. O(repetitions × people × servers).
 *  @throws RangeError for rates, times or counts that can't be. */
export function simulateDay(line: DayLine, plan: SimulationPlan = DEFAULT_PLAN): DayOutcome {
  check(line, plan)
  const days = Array.from({ length: plan.repetitions }, (_, i) =>
    oneDay(
      line,
      plan.warmUpMinutes,
      seededRandom(mix(plan.seed, 2 * i)),
      seededRandom(mix(plan.seed, 2 * i + 1)),
    ),
  )
  const over = (pick: (day: Day) => number) => estimate(days.map(pick), plan.confidence)
  return {
    meanWaitMinutes: over((d) => d.meanWait),
    chanceOfWaiting: over((d) => d.waited),
    chanceOverThreshold: over((d) => d.tooLong),
    longestWaitMinutes: over((d) => d.longest),
    overtimeMinutes: over((d) => d.overtime),
    intervals: line.arrivalsPerHour.map((_, i) => ({
      fromMinute: i * line.intervalMinutes,
      meanWaitMinutes: over((d) => d.waitByInterval[i]!),
      queueAtEnd: over((d) => d.queueByInterval[i]!),
    })),
  }
}

/** Spreads seed and stream over the generator's 32-bit state, so that near seeds don't give shifted copies. */
const mix = (seed: number, stream: number): number => {
  let h = Math.imul(seed ^ 0x9e3779b9, 0x85ebca6b) ^ Math.imul(stream + 1, 0xc2b2ae35)
  h = Math.imul(h ^ (h >>> 15), 0x2c1b3c6d)
  return (h ^ (h >>> 13)) >>> 0
}

interface Day {
  meanWait: number
  waited: number
  tooLong: number
  longest: number
  overtime: number
  waitByInterval: number[]
  queueByInterval: number[]
}

function oneDay(line: DayLine, warmUpMinutes: number, arrivals: Random, services: Random): Day {
  const { intervalMinutes, servers, thresholdMinutes } = line
  const intervals = line.arrivalsPerHour.length
  const freeAt = new Array<number>(servers).fill(0)
  const waitSum = new Array<number>(intervals).fill(0)
  const people = new Array<number>(intervals).fill(0)
  const queueByInterval = new Array<number>(intervals).fill(0)
  let counted = 0
  let sum = 0
  let waited = 0
  let tooLong = 0
  let longest = 0
  let lastEnd = 0
  const serve = (at: number) => {
    let first = 0
    for (let s = 1; s < servers; s++) if (freeAt[s]! < freeAt[first]!) first = s
    const begins = Math.max(at, freeAt[first]!)
    const ends = begins + serviceMinutes(line, services)
    freeAt[first] = ends
    lastEnd = Math.max(lastEnd, ends)
    const wait = begins - at
    const interval = Math.min(intervals - 1, Math.floor(at / intervalMinutes))
    waitSum[interval]! += wait
    people[interval]!++
    // Waiting at an interval's end: came by then, not begun by then.
    for (let i = interval; i < intervals && (i + 1) * intervalMinutes < begins; i++) queueByInterval[i]!++
    if (at < warmUpMinutes) return
    counted++
    sum += wait
    if (wait > 0) waited++
    if (wait > thresholdMinutes) tooLong++
    longest = Math.max(longest, wait)
  }
  for (let i = 0; i < line.waitingAtOpening; i++) serve(0)
  for (let i = 0; i < intervals; i++) {
    const perMinute = line.arrivalsPerHour[i]! / 60
    if (perMinute === 0) continue
    // A Poisson stream has no memory: it may begin anew at each change of its rate.
    for (let at = i * intervalMinutes + exponential(arrivals) / perMinute; at < (i + 1) * intervalMinutes; ) {
      serve(at)
      at += exponential(arrivals) / perMinute
    }
  }
  const share = (n: number) => (counted === 0 ? 0 : n / counted)
  return {
    meanWait: share(sum),
    waited: share(waited),
    tooLong: share(tooLong),
    longest,
    overtime: Math.max(0, lastEnd - intervals * intervalMinutes),
    waitByInterval: waitSum.map((w, i) => (people[i] === 0 ? 0 : w / people[i]!)),
    queueByInterval,
  }
}

const exponential = (random: Random): number => -Math.log(1 - random.next())

function serviceMinutes(line: DayLine, random: Random): number {
  let sum = 0
  for (let k = 0; k < line.serviceShape; k++) sum += exponential(random)
  return (sum * line.meanServiceMinutes) / line.serviceShape
}

function check(line: DayLine, plan: SimulationPlan): void {
  const refuse = (name: string, value: unknown, wanted: string): never => {
    throw new RangeError(`${name} must be ${wanted}, not ${value}`)
  }
  const finite = (n: number) => Number.isFinite(n)
  const bad = line.arrivalsPerHour.find((n) => !(n >= 0 && finite(n)))
  if (bad !== undefined) refuse('arrivalsPerHour', bad, '0 or more')
  if (line.arrivalsPerHour.length === 0) refuse('arrivalsPerHour', '[]', 'one rate or more')
  for (const name of ['intervalMinutes', 'meanServiceMinutes'] as const)
    if (!(line[name] > 0 && finite(line[name]))) refuse(name, line[name], 'more than 0')
  for (const name of ['serviceShape', 'servers'] as const)
    if (!(Number.isInteger(line[name]) && line[name] >= 1)) refuse(name, line[name], 'a whole number from 1')
  if (!(Number.isInteger(line.waitingAtOpening) && line.waitingAtOpening >= 0))
    refuse('waitingAtOpening', line.waitingAtOpening, 'a whole number from 0')
  if (!(Number.isInteger(plan.repetitions) && plan.repetitions >= 20))
    refuse('repetitions', plan.repetitions, 'a whole number from 20')
  if (!(plan.confidence > 0 && plan.confidence < 1)) refuse('confidence', plan.confidence, 'between 0 and 1')
}

/** The line that a demand profile makes of a place's registered voters, hour by hour. */
export function dayLineOf(
  demand: DemandProfile,
  registeredVoters: number,
  stations: { servers: number; meanServiceMinutes: number; serviceShape?: number; thresholdMinutes: number },
): DayLine {
  const voters = registeredVoters * demand.turnoutFraction
  const waitingAtOpening = Math.round(voters * demand.waitingAtOpeningFraction)
  return {
    arrivalsPerHour: demand.shareByHour.map((share) => share * (voters - waitingAtOpening)),
    intervalMinutes: 60,
    waitingAtOpening,
    serviceShape: 1,
    ...stations,
  }
}
