export interface DecisionConsistency {
  method: 'Subkoviak 1976' | 'Huynh 1976'
  /** Chance that a person gets the same verdict on two parallel forms. */
  agreement: number
  /** Agreement expected if the two verdicts were independent. */
  chance: number
  /** (agreement − chance) ÷ (1 − chance); `null` where everybody surely passes or surely fails. */
  kappa: number | null
  /** Share expected to pass. */
  passRate: number
}

/** Decision consistency from one sitting, by Subkoviak's method: each person's true share is estimated by regression
 *  towards the mean (reliability × score/items + (1 − reliability) × mean/items), the number right on a parallel form
 *  is binomial, and the same verdict twice has the chance P² + (1 − P)². Takes items of 0/1 that are about equally
 *  hard. In simulations it tends to agree too much by a few hundredths, because it takes each estimated share for the
 *  true one; where items are equally hard `betaBinomialConsistency` doesn't. Reliability below 0 counts as 0. `scores[person]` is the number right; `cut` the least number that passes.
 *  O(people + items²). Source: Subkoviak 1976, J. Educ. Meas. 13:265.
 *  @throws RangeError where there is nobody, or a score, cut or reliability out of range */
export function decisionConsistency(
  scores: readonly number[],
  items: number,
  cut: number,
  reliability: number,
): DecisionConsistency {
  if (scores.length === 0) throw new RangeError('there must be at least one score')
  if (!Number.isInteger(cut) || cut < 0 || cut > items)
    throw new RangeError('the cut is a whole number of points')
  if (scores.some((s) => !Number.isInteger(s) || s < 0 || s > items))
    throw new RangeError('a score is a whole number of points')
  if (!(reliability <= 1)) throw new RangeError('reliability is at most 1')
  const rho = Math.max(0, reliability)
  const mean = scores.reduce((s, v) => s + v, 0) / scores.length
  const passing = Array.from({ length: items + 1 }, (_, score) =>
    binomialAtLeast(items, (rho * score + (1 - rho) * mean) / items, cut),
  )
  let agreement = 0
  let passRate = 0
  for (const score of scores) {
    const p = passing[score]!
    agreement += p * p + (1 - p) * (1 - p)
    passRate += p
  }
  agreement /= scores.length
  passRate /= scores.length
  const chance = passRate ** 2 + (1 - passRate) ** 2
  const kappa = 1 - chance < 1e-12 ? null : (agreement - chance) / (1 - chance)
  return { method: 'Subkoviak 1976', agreement, chance, kappa, passRate }
}

/** Decision consistency where true shares follow a beta distribution and items are equally hard: both forms together
 *  are beta-binomial, summed exactly. The beta is fitted by the scores' mean and KR-21. `null` where KR-21 isn't between
 *  0 and 1 (too few people, or scores no more spread than chance). O(people + items²).
 *  Source: Huynh 1976, J. Educ. Meas. 13:253. @throws RangeError as `decisionConsistency` */
export function betaBinomialConsistency(
  scores: readonly number[],
  items: number,
  cut: number,
): DecisionConsistency | null {
  if (scores.length === 0) throw new RangeError('there must be at least one score')
  const mean = scores.reduce((s, v) => s + v, 0) / scores.length
  const variance = scores.reduce((s, v) => s + (v - mean) ** 2, 0) / scores.length
  const kr21 = (items / (items - 1)) * (1 - (mean * (items - mean)) / (items * variance))
  if (!(kr21 > 0 && kr21 < 1)) return null
  const alpha = (1 / kr21 - 1) * mean
  return betaConsistency(alpha, items / kr21 - items - alpha, items, cut)
}

/** The same for a known beta distribution of true shares. */
export function betaConsistency(
  alpha: number,
  beta: number,
  items: number,
  cut: number,
): DecisionConsistency {
  // B(α + s, β + 2n − s) / B(α, β) for s right answers on both forms together, in logarithms, from s = 0 upwards.
  const joint = new Float64Array(2 * items + 1)
  for (let i = 0; i < 2 * items; i++) joint[0]! += Math.log((beta + i) / (alpha + beta + i))
  for (let s = 0; s < 2 * items; s++)
    joint[s + 1] = joint[s]! + Math.log((alpha + s) / (beta + 2 * items - s - 1))
  const choose = new Float64Array(items + 1)
  for (let x = 0; x < items; x++) choose[x + 1] = choose[x]! + Math.log((items - x) / (x + 1))
  let agreement = 0
  let passRate = 0
  for (let x = 0; x <= items; x++)
    for (let y = 0; y <= items; y++) {
      const p = Math.exp(choose[x]! + choose[y]! + joint[x + y]!)
      if (x >= cut === y >= cut) agreement += p
      if (x >= cut) passRate += p
    }
  const chance = passRate ** 2 + (1 - passRate) ** 2
  const kappa = 1 - chance < 1e-12 ? null : (agreement - chance) / (1 - chance)
  return { method: 'Huynh 1976', agreement, chance, kappa, passRate }
}

/** Chance of at least `least` successes in n trials of chance p. O(n). */
export function binomialAtLeast(n: number, p: number, least: number): number {
  if (least <= 0) return 1
  if (p <= 0) return 0
  if (p >= 1) return 1
  // ln of C(n, x) pˣ (1−p)^(n−x), built up from x = 0.
  let log = n * Math.log1p(-p)
  const odds = Math.log(p) - Math.log1p(-p)
  let sum = 0
  for (let x = 0; x <= n; x++) {
    if (x > 0) log += Math.log((n - x + 1) / x) + odds
    if (x >= least) sum += Math.exp(log)
  }
  return Math.min(1, sum)
}
