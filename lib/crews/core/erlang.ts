/** A waiting line that is fed at a steady rate by people who come independently (Poisson), and served by equal
 *  stations whose service times are exponential: M/M/c. Times are minutes where the name says so. */
export interface SteadyLine {
  /** λ: people an hour. */
  arrivalsPerHour: number
  /** μ: people an hour that one station serves without a pause. */
  servicePerHour: number
  /** c: stations. */
  servers: number
  /** t: a wait longer than this is counted as too long. */
  thresholdMinutes: number
}

export interface Waiting {
  /** Erlang's C: the chance that somebody who comes must wait at all. */
  chanceOfWaiting: number
  /** People waiting, not counting those being served; null: grows without end. */
  meanQueue: number | null
  /** Mean wait before service, of everybody who comes; null: grows without end. */
  meanWaitMinutes: number | null
  chanceOverThreshold: number
}

/** Erlang's B, the chance that all of `servers` are busy when those who find them busy go away; `load` = λ/μ.
 *  By the recursion in 1/B, which neither overflows a factorial nor loses digits. O(servers).
 *  Source: any text on queues; the recursion is the one in Gross & Harris, Fundamentals of Queueing Theory
 *  (from memory). @throws RangeError for a negative load or no servers. */
export function erlangB(load: number, servers: number): number {
  if (!(load >= 0 && load < Number.POSITIVE_INFINITY))
    throw new RangeError(`load must be 0 or more, not ${load}`)
  if (!Number.isInteger(servers) || servers < 1)
    throw new RangeError(`servers must be a whole number from 1, not ${servers}`)
  if (load === 0) return 0
  let inverse = 1
  for (let k = 1; k <= servers; k++) inverse = 1 + (inverse * k) / load
  return 1 / inverse
}

/** Erlang's C, the chance of waiting where nobody goes away: B / (1 − ρ(1 − B)). 1 where ρ ≥ 1. O(servers). */
export function erlangC(load: number, servers: number): number {
  const b = erlangB(load, servers)
  const utilisation = load / servers
  return utilisation >= 1 ? 1 : b / (1 - utilisation * (1 - b))
}

/** The long-run state of a line: Lq = C ρ/(1−ρ), Wq = C/(cμ−λ), P(W > t) = C e^(−(cμ−λ)t). Where the stations
 *  can't keep up (λ ≥ cμ) there is no long run: everybody waits, and the means are null. O(servers).
 *  @throws RangeError for rates that are not positive (arrivals may be 0), a negative threshold. */
export function waiting(line: SteadyLine): Waiting {
  const { arrivalsPerHour, servicePerHour, servers, thresholdMinutes } = line
  if (!(servicePerHour > 0 && servicePerHour < Number.POSITIVE_INFINITY))
    throw new RangeError(`servicePerHour must be more than 0, not ${servicePerHour}`)
  if (!(thresholdMinutes >= 0))
    throw new RangeError(`thresholdMinutes must be 0 or more, not ${thresholdMinutes}`)
  const load = arrivalsPerHour / servicePerHour
  const c = erlangC(load, servers)
  const spare = servers * servicePerHour - arrivalsPerHour
  if (spare <= 0)
    return { chanceOfWaiting: 1, meanQueue: null, meanWaitMinutes: null, chanceOverThreshold: 1 }
  const utilisation = load / servers
  return {
    chanceOfWaiting: c,
    meanQueue: (c * utilisation) / (1 - utilisation),
    meanWaitMinutes: (c / spare) * 60,
    chanceOverThreshold: c * Math.exp((-spare * thresholdMinutes) / 60),
  }
}

export interface WaitTargets {
  /** Longest mean wait. */
  meanWaitMinutes?: number
  /** Largest share of people who may wait longer than the threshold. */
  chanceOverThreshold?: number
}

export const meets = (
  w: { meanWaitMinutes: number | null; chanceOverThreshold: number },
  t: WaitTargets,
): boolean =>
  (t.meanWaitMinutes === undefined ||
    (w.meanWaitMinutes !== null && w.meanWaitMinutes <= t.meanWaitMinutes)) &&
  (t.chanceOverThreshold === undefined || w.chanceOverThreshold <= t.chanceOverThreshold)

export type FewestStations =
  | { status: 'found'; servers: number; waiting: Waiting }
  /** Not even `most` stations keep the targets. */
  | { status: 'tooFew'; most: number; waiting: Waiting }

/** The fewest stations with which a steady line keeps its targets and does not grow. More stations never make a
 *  line worse, so the first that does is the fewest. O(most²) at worst. */
export function fewestStations(
  line: Omit<SteadyLine, 'servers'>,
  targets: WaitTargets,
  most = 200,
): FewestStations {
  for (let servers = 1; ; servers++) {
    const result = waiting({ ...line, servers })
    if (result.meanQueue !== null && meets(result, targets))
      return { status: 'found', servers, waiting: result }
    if (servers >= most) return { status: 'tooFew', most, waiting: result }
  }
}
