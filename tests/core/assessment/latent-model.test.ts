import { describe, expect, it } from 'vitest'
import { chanceRight, fitLatentModel, type LatentModel } from '@/lib/assessment/core/latent-model'
import { responsesFromMarks, responsesFromPatterns } from '@/lib/assessment/core/responses'
import { type Random, seededRandom } from '@/lib/kernel/random'
import { LSAT6, lsatPatterns, lsatResponses } from './published'

const full = process.env.TEST_FULL === '1'

describe('LSAT6 by marginal maximum likelihood, against ltm (61 quadrature points)', () => {
  it('Rasch: difficulties −2.8720, −1.0630, −0.2576, −1.3881, −2.2188', () => {
    const fit = fitLatentModel(lsatResponses(), 'rasch')
    LSAT6.rasch_a1_MML.difficulty.forEach((b, i) => {
      expect(fit.difficulties[i]).toBeCloseTo(b, 5)
    })
    expect(fit.logLikelihood).toBeCloseTo(LSAT6.rasch_a1_MML.logLik, 6)
  })

  it('one discrimination', () => {
    const fit = fitLatentModel(lsatResponses(), 'one-parameter')
    LSAT6.onePL_MML.difficulty.forEach((b, i) => {
      expect(fit.difficulties[i]).toBeCloseTo(b, 5)
    })
    expect(fit.discriminations[0]).toBeCloseTo(LSAT6.onePL_MML.discrimination, 5)
    expect(fit.logLikelihood).toBeCloseTo(LSAT6.onePL_MML.logLik, 6)
  })

  it('a discrimination for each: within ltm’s own stopping error, at a likelihood no lower than its', () => {
    const fit = fitLatentModel(lsatResponses(), 'two-parameter')
    LSAT6.twoPL_MML.difficulty.forEach((b, i) => {
      expect(Math.abs(fit.difficulties[i]! - b)).toBeLessThan(0.003)
    })
    LSAT6.twoPL_MML.discrimination.forEach((a, i) => {
      expect(Math.abs(fit.discriminations[i]! - a)).toBeLessThan(0.001)
    })
    expect(fit.logLikelihood).toBeCloseTo(LSAT6.twoPL_MML.logLik, 4)
    expect(fit.logLikelihood).toBeGreaterThanOrEqual(LSAT6.twoPL_MML.logLik - 1e-6)
  })
})

describe('laws', () => {
  it('the order of people and items changes nothing', () => {
    const order = [3, 0, 4, 1, 2]
    const turned = responsesFromPatterns(
      lsatPatterns.toReversed().map((p) => ({ ...p, marks: order.map((i) => p.marks[i]!) })),
    )
    for (const model of ['rasch', 'one-parameter', 'two-parameter'] as LatentModel[]) {
      const a = fitLatentModel(lsatResponses(), model)
      const b = fitLatentModel(turned, model)
      expect(b.logLikelihood).toBeCloseTo(a.logLikelihood, 7)
      order.forEach((from, to) => {
        expect(b.difficulties[to]).toBeCloseTo(a.difficulties[from]!, 3)
      })
    }
  })

  it('turning right into wrong turns the sign of difficulty', () => {
    const flipped = lsatPatterns.map((p) => ({ ...p, marks: p.marks.map((m) => 1 - m) }))
    const a = fitLatentModel(lsatResponses(), 'rasch')
    const b = fitLatentModel(responsesFromPatterns(flipped), 'rasch')
    a.difficulties.forEach((d, i) => {
      expect(b.difficulties[i]).toBeCloseTo(-d!, 5)
    })
  })

  it('an item that nobody was given, or that all got right, has no difficulty and moves no other', () => {
    const a = fitLatentModel(lsatResponses(), 'rasch')
    const more = lsatPatterns.map((p) => ({ ...p, marks: [...p.marks, null, 1] }))
    const b = fitLatentModel(responsesFromPatterns(more), 'rasch')
    expect(b.difficulties.slice(5)).toEqual([null, null])
    a.difficulties.forEach((d, i) => {
      expect(b.difficulties[i]).toBeCloseTo(d!, 6)
    })
    expect(b.logLikelihood).toBeCloseTo(a.logLikelihood, 6)
  })

  it('models nest: more parameters never fit worse', () => {
    const values = (['rasch', 'one-parameter', 'two-parameter'] as LatentModel[]).map(
      (m) => fitLatentModel(lsatResponses(), m).logLikelihood,
    )
    expect(values[0]).toBeLessThanOrEqual(values[1]! + 1e-9)
    expect(values[1]).toBeLessThanOrEqual(values[2]! + 1e-9)
  })

  it('refuses what cannot be fitted', () => {
    expect(() =>
      fitLatentModel(
        responsesFromMarks([
          [1, 1],
          [1, 1],
        ]),
        'rasch',
      ),
    ).toThrow(RangeError)
    expect(() =>
      fitLatentModel(
        responsesFromMarks([
          [0.5, 1],
          [0, 1],
        ]),
        'rasch',
      ),
    ).toThrow(RangeError)
  })
})

describe('known parameters come back within the error that theory gives', () => {
  const normal = (r: Random) => Math.sqrt(-2 * Math.log(1 - r.next())) * Math.cos(2 * Math.PI * r.next())
  const difficulties = [-1.5, -0.8, -0.2, 0.3, 0.9, 1.4]
  const slopes = [0.8, 1.2, 1, 1.5, 0.9, 1.1]

  /** z of every estimate over repeated data; missing items at random when `share` > 0. */
  function zScores(model: LatentModel, repeats: number, people: number, missing: number) {
    const z: number[] = []
    for (let rep = 0; rep < repeats; rep++) {
      const r = seededRandom(1000 + rep)
      const marks = Array.from({ length: people }, () => {
        const ability = normal(r)
        return difficulties.map((b, i) => {
          const a = model === 'two-parameter' ? slopes[i]! : 1
          const mark = r.next() < chanceRight(ability, b, a) ? 1 : 0
          return r.next() < missing ? null : mark
        })
      })
      const fit = fitLatentModel(responsesFromMarks(marks), model, { errors: true })
      difficulties.forEach((b, i) => {
        z.push((fit.difficulties[i]! - b) / fit.difficultyErrors![i]!)
      })
    }
    return z
  }

  // Under the theory z is standard normal: mean 0 ± 1/√m, and 95 % of them within 1.96. Items of one data set hang
  // together, so the bounds below take m to be the number of data sets, not of estimates.
  it.each([
    ['rasch', 0],
    ['rasch', 0.3],
    ['one-parameter', 0],
    ['two-parameter', 0],
  ] as [LatentModel, number][])('%s, share not put %d', (model, missing) => {
    const repeats = full ? 200 : 12
    const z = zScores(model, repeats, full ? 1000 : 500, missing)
    const mean = z.reduce((s, v) => s + v, 0) / z.length
    const within = z.filter((v) => Math.abs(v) < 1.96).length / z.length
    expect(Math.abs(mean)).toBeLessThan(4 / Math.sqrt(repeats))
    expect(within).toBeGreaterThan(full ? 0.92 : 0.85)
    expect(within).toBeLessThan(full ? 0.98 : 1.01)
  })
})
