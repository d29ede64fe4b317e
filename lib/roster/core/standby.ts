/** Standby pools: how many people to hold ready so that the seats are filled with a stated chance.
 *
 *  People turn up independently, each with a rate of their own; the number who come is Poisson-binomial, computed
 *  exactly by convolution, O(n²), all terms positive, so no digit is lost by cancellation.
 *  References: Hodges & Le Cam 1960; Hong 2013, Comput. Stat. Data Anal. 59:41 (direct convolution). */

function assertRates(rates: readonly number[]): void {
  for (const [i, p] of rates.entries())
    if (!(p >= 0 && p <= 1)) throw new RangeError(`show-up rate ${i} must lie from 0 to 1, not ${p}`)
}

function assertNeeded(needed: number): void {
  if (!Number.isInteger(needed) || needed < 0)
    throw new RangeError(`needed must be a whole number from 0, not ${needed}`)
}

/** Chance of each number of arrivals, 0 to n. The empty list has one entry, 1. @throws RangeError for a rate outside
 *  0 to 1. */
export function poissonBinomial(rates: readonly number[]): number[] {
  assertRates(rates)
  const pmf = new Float64Array(rates.length + 1)
  pmf[0] = 1
  rates.forEach((p, n) => {
    for (let k = n + 1; k > 0; k--) pmf[k] = pmf[k]! * (1 - p) + pmf[k - 1]! * p
    pmf[0] = pmf[0]! * (1 - p)
  })
  return [...pmf]
}

/** Chance that at least `needed` come. Sums the smaller tail, smallest terms first where that is the upper one. */
export function chanceOfAtLeast(needed: number, rates: readonly number[]): number {
  assertNeeded(needed)
  const pmf = poissonBinomial(rates)
  if (needed === 0) return 1
  if (needed > rates.length) return 0
  let upper = 0
  for (let k = rates.length; k >= needed; k--) upper += pmf[k]!
  let lower = 0
  for (let k = 0; k < needed; k++) lower += pmf[k]!
  return lower < 0.5 ? 1 - lower : Math.min(1, upper)
}

export interface PoolSize {
  /** People in all (seated and standby), of whom `needed` must come. */
  pool: number
  /** pool − needed. */
  reserve: number
  /** Chance that at least `needed` come. */
  chance: number
  /** The same with one person fewer: below the confidence asked for. */
  chanceOneFewer: number
}

/** Smallest pool of people with one rate. @throws RangeError when the rate is 0 with somebody needed, a value is out
 *  of range, or more than 100,000 people would be needed. O(pool × needed). */
export function smallestPool(needed: number, showRate: number, confidence: number): PoolSize {
  assertNeeded(needed)
  assertRates([showRate])
  if (!(confidence >= 0 && confidence < 1) && !(confidence === 1 && showRate === 1))
    throw new RangeError(`confidence must be from 0 to below 1, not ${confidence}`)
  if (needed > 0 && showRate === 0) throw new RangeError('with a show-up rate of 0 no pool is large enough')
  if (needed === 0) return { pool: 0, reserve: 0, chance: 1, chanceOneFewer: 1 }
  // below[k]: chance of exactly k arrivals, for k under `needed`; its sum is the chance of a shortage.
  const below = new Float64Array(needed)
  below[0] = 1
  let before = 0
  for (let n = 1; n <= 100_000; n++) {
    for (let k = needed - 1; k > 0; k--) below[k] = below[k]! * (1 - showRate) + below[k - 1]! * showRate
    below[0] = below[0]! * (1 - showRate)
    if (n < needed) continue
    let short = 0
    for (const p of below) short += p
    const chance = 1 - short
    if (chance >= confidence) return { pool: n, reserve: n - needed, chance, chanceOneFewer: before }
    before = chance
  }
  throw new RangeError('more than 100,000 people would be needed')
}

export interface ShowRecord {
  /** Times seated and times that the person came. */
  offered: number
  came: number
}

export interface ShrunkRates {
  /** The county's own rate. */
  countyRate: number
  /** How many elections' worth the county's rate weighs in each person's; Infinity: people don't differ. */
  strength: number
  rates: number[]
}

/** Each person's show-up rate, shrunk towards the county's: (came + s m) ÷ (offered + s), the mean of a beta
 *  posterior. m is the pooled rate; s comes from φ = 1/(s + 1), the correlation within a person, fitted by moments:
 *  with n_i offers, N = Σ n_i, K people with a record and S = Σ n_i (p_i − m)²,
 *    E[S] = m (1 − m) [ (K − 1)(1 − φ) + φ (N − Σ n_i² ÷ N) ].
 *  No spread beyond chance: φ = 0, everybody gets m. A person without record gets m. A county without any record
 *  gets 1/2.
 *  Source: Kleinman 1973, J. Amer. Statist. Assoc. 68:46–54 (moment estimators, weights n_i); Efron & Morris 1975. */
export function shrinkRates(records: readonly ShowRecord[]): ShrunkRates {
  let offered = 0
  let came = 0
  for (const [i, r] of records.entries()) {
    if (!Number.isInteger(r.offered) || !Number.isInteger(r.came) || r.came < 0 || r.came > r.offered)
      throw new RangeError(`record ${i}: came must be a whole number from 0 to offered`)
    offered += r.offered
    came += r.came
  }
  if (offered === 0) return { countyRate: 0.5, strength: 2, rates: records.map(() => 0.5) }
  const m = came / offered
  const seen = records.filter((r) => r.offered > 0)
  let spread = 0
  let squares = 0
  for (const r of seen) {
    spread += r.offered * (r.came / r.offered - m) ** 2
    squares += r.offered * r.offered
  }
  const K = seen.length
  // E[S] = m(1−m) [ (K−1)(1−φ) + φ (N − Σ n²/N) ].
  const full = offered - squares / offered
  const variance = m * (1 - m)
  const phi =
    variance === 0 || full <= K - 1
      ? 0
      : Math.min(1, Math.max(0, (spread / variance - (K - 1)) / (full - (K - 1))))
  const strength = phi === 0 ? Number.POSITIVE_INFINITY : 1 / phi - 1
  const rates = records.map((r) =>
    strength === Number.POSITIVE_INFINITY
      ? m
      : r.offered + strength === 0
        ? m
        : (r.came + strength * m) / (r.offered + strength),
  )
  return { countyRate: m, strength, rates }
}

export interface StandbyArea {
  /** Area and role, e.g. `north|check-in`: standbys here can take any of its seats. */
  key: string
  /** Show-up rates of the people seated (one a seat). */
  seated: number[]
  /** Rates of the people who could stand by, in the order in which they'd be asked. */
  available: number[]
}

export interface StandbyPlan {
  areas: { key: string; standby: number; chance: number; enough: boolean }[]
  standby: number
  /** Chance that every seat of the county opens filled; areas are independent. */
  countyChance: number
  reached: boolean
}

/** A pool for each area. `perArea`: the smallest in each that reaches the chance. `county`: one standby after the
 *  other goes where the county's chance rises most until it reaches the target: for each area's chance being
 *  log-concave in its pool that is also the smallest in all; with unequal rates in asking order it is a heuristic, but
 *  never more than what `countyChance` states. O(standbys × areas × people of an area). */
export function standbyPool(
  areas: readonly StandbyArea[],
  target: { kind: 'perArea' | 'county'; chance: number },
): StandbyPlan {
  if (!(target.chance > 0 && target.chance < 1)) throw new RangeError('the chance must lie between 0 and 1')
  const chances = areas.map((a) =>
    Array.from({ length: a.available.length + 1 }, (_, n) =>
      chanceOfAtLeast(a.seated.length, [...a.seated, ...a.available.slice(0, n)]),
    ),
  )
  const counts = areas.map(() => 0)
  if (target.kind === 'perArea')
    chances.forEach((list, i) => {
      const n = list.findIndex((c) => c >= target.chance)
      counts[i] = n < 0 ? list.length - 1 : n
    })
  else {
    const county = () => chances.reduce((product, list, i) => product * list[counts[i]!]!, 1)
    while (county() < target.chance) {
      let best = -1
      let bestRatio = 1
      chances.forEach((list, i) => {
        const now = list[counts[i]!]!
        const next = list[counts[i]! + 1]
        if (next === undefined) return
        const ratio = now === 0 ? Number.POSITIVE_INFINITY : next / now
        if (ratio > bestRatio) {
          best = i
          bestRatio = ratio
        }
      })
      if (best < 0) break
      counts[best]!++
    }
  }
  const list = areas.map((a, i) => {
    const chance = chances[i]![counts[i]!]!
    return {
      key: a.key,
      standby: counts[i]!,
      chance,
      enough: target.kind === 'county' || chance >= target.chance,
    }
  })
  const countyChance = list.reduce((product, a) => product * a.chance, 1)
  return {
    areas: list,
    standby: counts.reduce((a, b) => a + b, 0),
    countyChance,
    reached: target.kind === 'county' ? countyChance >= target.chance : list.every((a) => a.enough),
  }
}
