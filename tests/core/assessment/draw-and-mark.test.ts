import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { drawForm } from '@/lib/assessment/core/draw'
import { markForm, minutesFor } from '@/lib/assessment/core/mark'
import { markQuestion } from '@/lib/assessment/core/mark-question'
import { type Answer, type Bank, Question, type QuestionOf, QuizDesign } from '@/lib/assessment/schema'

const texts = (ids: string[]) => ({
  stem: 's',
  explanation: 'e',
  options: Object.fromEntries(ids.map((i) => [i, i])),
})
const single = (id: string, more: object = {}): Question =>
  Question.parse({
    kind: 'single',
    id,
    lifecycle: 'live',
    competency: 'check-in',
    band: 'easy',
    source: { kind: 'common-practice' },
    practise: 'card-returned',
    options: [
      { id: 'a', right: true },
      { id: 'b', right: false },
      { id: 'c', right: false, critical: true },
    ],
    texts: { en: texts(['a', 'b', 'c']), es: texts(['a', 'b', 'c']) },
    ...more,
  })
const bankOf = (...list: Question[]): Bank => new Map(list.map((q) => [q.id, q]))
const design = (more: object = {}): QuizDesign =>
  QuizDesign.parse({
    id: 'quiz',
    names: { en: 'q', es: 'q' },
    minutes: 20,
    blueprint: {
      cells: [
        { competency: 'check-in', count: 2 },
        { competency: 'accounting', count: 1 },
      ],
    },
    passing: { cutFraction: 0.6 },
    retake: { overlapAtMost: 0.5 },
    expectedTolerance: 1,
    ...more,
  })
const many = (n: number, competency = 'check-in', more: object = {}) =>
  Array.from({ length: n }, (_, i) => single(`${competency}-q${i}`, { competency, ...more }))
const bank = bankOf(
  ...many(6),
  ...many(4, 'accounting'),
  ...many(3, 'check-in', { lifecycle: 'trial' }).map((q) => ({ ...q, id: `t${q.id}` })),
)
const drawn = (input: Parameters<typeof drawForm>[0]) => {
  const out = drawForm(input)
  if (out.status !== 'drawn') throw new Error(JSON.stringify(out))
  return out
}

describe('drawing', () => {
  it('meets the blueprint exactly, from live questions, whatever the order of the bank', () => {
    fc.assert(
      fc.property(fc.integer(), (seed) => {
        const a = drawn({ design: design(), bank, seed })
        const b = drawn({ design: design(), bank: new Map([...bank].toReversed()), seed })
        expect(b.questionIds).toEqual(a.questionIds)
        const kinds = a.questionIds.map((id) => bank.get(id)!)
        expect(kinds.filter((q) => q.competency === 'check-in')).toHaveLength(2)
        expect(kinds.filter((q) => q.competency === 'accounting')).toHaveLength(1)
        expect(new Set(a.questionIds).size).toBe(3)
        expect(kinds.every((q) => q.lifecycle === 'live')).toBe(true)
      }),
    )
  })

  it('says which cell is short', () => {
    const out = drawForm({ design: design(), bank: bankOf(...many(1), ...many(1, 'accounting')), seed: 1 })
    expect(out).toEqual({
      status: 'short',
      cells: [{ reason: 'bank', competency: 'check-in', band: null, topic: null, needed: 2, available: 1 }],
    })
  })

  it('keeps the overlap with each earlier form under the limit, or says that it can’t', () => {
    // Three questions, half of them: at most one in common.
    const earlierForms: string[][] = []
    for (let seed = 0; seed < 4; seed++) {
      const { questionIds } = drawn({ design: design(), bank, seed, earlierForms })
      for (const form of earlierForms)
        expect(form.filter((q) => questionIds.includes(q)).length).toBeLessThanOrEqual(1)
      earlierForms.push(questionIds)
    }
    const small = bankOf(...many(2), ...many(1, 'accounting'))
    const out = drawForm({ design: design(), bank: small, seed: 1, earlierForms: [[...small.keys()]] })
    expect(out.status === 'short' && out.cells[0]!.reason).toBe('overlap')
  })

  it('finds a form exactly where trying every one finds one (topics, overlap and expected score together)', () => {
    const cells = design({
      expectedTolerance: 0.04,
      blueprint: {
        cells: [
          { competency: 'check-in', count: 2 },
          { competency: 'accounting', count: 1 },
        ],
        mustInclude: [{ topic: 'seals', count: 1 }],
      },
    })
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0.2, max: 1, noNaN: true }), { minLength: 7, maxLength: 7 }),
        fc.array(fc.boolean(), { minLength: 7, maxLength: 7 }),
        fc.array(fc.boolean(), { minLength: 7, maxLength: 7 }),
        (expected, topic, before) => {
          const list = [...many(4), ...many(3, 'accounting')].map((q, i) => ({
            ...q,
            topics: topic[i] ? ['seals'] : [],
          }))
          const ids = list.map((q) => q.id)
          const earlier = ids.filter((_, i) => before[i])
          const out = drawForm({
            design: cells,
            bank: bankOf(...list),
            seed: 3,
            earlierForms: [earlier],
            expectedFractions: new Map(ids.map((id, i) => [id, expected[i]!])),
          })
          const mean = (a: number, b: number) => expected.slice(a, b).reduce((s, v) => s + v, 0) / (b - a)
          const target = 2 * mean(0, 4) + mean(4, 7)
          const good = (f: number[]) =>
            Math.abs(f.reduce((s, i) => s + expected[i]!, 0) - target) <= 0.12 + 1e-9 &&
            f.some((i) => topic[i]) &&
            f.filter((i) => before[i]).length <= 1
          let any = false
          for (let a = 0; a < 4; a++)
            for (let b = a + 1; b < 4; b++) for (let c = 4; c < 7; c++) any ||= good([a, b, c])
          expect(out.status).toBe(any ? 'drawn' : 'short')
          if (out.status === 'drawn') expect(good(out.questionIds.map((id) => ids.indexOf(id)))).toBe(true)
        },
      ),
    )
  })

  it('spreads exposure: over many forms every question of a cell is drawn equally often', () => {
    const exposure = new Map<string, number>()
    for (let seed = 0; seed < 120; seed++)
      for (const id of drawn({ design: design(), bank, seed, exposure }).questionIds)
        exposure.set(id, (exposure.get(id) ?? 0) + 1)
    // 120 × 2 ÷ 6 = 40 and 120 ÷ 4 = 30.
    for (const q of bank.values())
      if (q.lifecycle === 'live') expect(exposure.get(q.id)).toBe(q.competency === 'check-in' ? 40 : 30)
  })

  it('shows questions on trial without counting them', () => {
    const withTrial = design({ blueprint: { ...design().blueprint, trialItems: 2 } })
    const out = drawn({ design: withTrial, bank, seed: 5 })
    expect(out.trialIds).toHaveLength(2)
    const all = Object.fromEntries(
      out.questionIds.map((id): [string, Answer] => [
        id,
        { kind: 'single', option: out.trialIds.includes(id) ? 'c' : 'a' },
      ]),
    )
    expect(markForm(out.form, bank, all, withTrial)).toMatchObject({
      scoreFraction: 1,
      passed: true,
      criticalMistakes: [],
    })
  })
})

describe('marking', () => {
  const form = drawn({ design: design(), bank, seed: 9 }).form
  const say = (options: string[]) =>
    Object.fromEntries(
      form.questionIds.map((id, i): [string, Answer] => [id, { kind: 'single', option: options[i]! }]),
    )

  it('passes at the cut, fails below it, and names what was missed', () => {
    // Two of three: 0.667 ≥ 0.6. One of three: below.
    expect(markForm(form, bank, say(['a', 'a', 'b']), design())).toMatchObject({ passed: true, reasons: [] })
    const low = markForm(form, bank, say(['a', 'b', 'b']), design())
    expect(low).toMatchObject({ passed: false, reasons: ['below-cut'], practise: ['card-returned'] })
    expect(low.misses.map((m) => m.questionId)).toEqual(form.questionIds.slice(1))
    const exact = design({ passing: { cutFraction: 2 / 3 } })
    expect(markForm(form, bank, say(['a', 'a', 'b']), exact).passed).toBe(true)
  })

  it('fails on a critical mistake and below a floor, however high the total', () => {
    expect(markForm(form, bank, say(['a', 'a', 'c']), design()).reasons).toEqual(['critical-mistake'])
    const floor = design({
      passing: { cutFraction: 0.5, floors: [{ competency: 'accounting', fraction: 0.5 }] },
    })
    const at = form.questionIds.findIndex((id) => bank.get(id)!.competency === 'accounting')
    const options = form.questionIds.map((_, i) => (i === at ? 'b' : 'a'))
    expect(markForm(form, bank, say(options), floor).reasons).toEqual(['below-floor'])
  })

  it('counts a scenario by its weight, and as nothing where it was not played', () => {
    const slot = design({ scenarios: [{ key: 'card-returned', competency: 'card-handling', weight: 2 }] })
    const own = { ...form, scenarioKeys: ['card-returned'] }
    const right = say(['a', 'a', 'a'])
    // (3 + 2 × 0.5) ÷ 5 = 0.8; without it 3 ÷ 5.
    expect(
      markForm(own, bank, right, slot, { 'card-returned': { fraction: 0.5, critical: false } }).scoreFraction,
    ).toBeCloseTo(0.8, 12)
    expect(markForm(own, bank, right, slot).scoreFraction).toBeCloseTo(0.6, 12)
    expect(
      markForm(own, bank, right, slot, { 'card-returned': { fraction: 1, critical: true } }).passed,
    ).toBe(false)
  })

  it('takes what doesn’t belong to the form, or is of another kind, for nothing', () => {
    const odd = { ...say(['a', 'a', 'a']), elsewhere: { kind: 'single', option: 'a' } as Answer }
    expect(markForm(form, bank, odd, design()).scoreFraction).toBe(1)
    expect(markQuestion(single('x'), { kind: 'number', value: 1 }).answered).toBe(false)
    expect(markQuestion(single('x'), { kind: 'single', option: 'zz' }).answered).toBe(false)
  })

  it('gives part of a point for several and order, and nothing for choosing all', () => {
    const several = Question.parse({
      ...single('s'),
      kind: 'several',
      options: [
        { id: 'a', right: true },
        { id: 'b', right: true },
        { id: 'c', right: false },
      ],
    })
    const chose = (options: string[]) => markQuestion(several, { kind: 'several', options }).fraction
    expect([chose(['a', 'b']), chose(['a']), chose(['a', 'b', 'c']), chose(['c'])]).toEqual([1, 0.5, 0, 0])
    const { options: _, ...rest } = single('o') as QuestionOf<'single'>
    const order = Question.parse({
      ...rest,
      kind: 'order',
      items: [{ id: 'a' }, { id: 'b' }, { id: 'c' }],
      critical: [{ before: 'a', after: 'c' }],
    })
    const put = (items: string[]) => markQuestion(order, { kind: 'order', items })
    // One of three pairs swapped: (2 − 1) / 3.
    expect(put(['b', 'a', 'c']).fraction).toBeCloseTo(1 / 3, 12)
    expect(put(['c', 'b', 'a'])).toMatchObject({ fraction: 0, critical: ['c'] })
    expect(put(['a', 'b']).answered).toBe(false)
  })

  it('gives more time to whoever has a multiplier, in whole minutes', () => {
    expect([minutesFor({ minutes: 15 }), minutesFor({ minutes: 15 }, 1.5)]).toEqual([15, 23])
    expect(() => minutesFor({ minutes: 15 }, 0.5)).toThrow(RangeError)
  })
})
