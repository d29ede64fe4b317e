import { describe, expect, it } from 'vitest'
import { expectedAbility } from '@/lib/assessment/core/ability'
import { itemFunctioning, mantelHaenszel } from '@/lib/assessment/core/differential-functioning'
import { chanceRight } from '@/lib/assessment/core/latent-model'
import { quizReport, type SittingRecord } from '@/lib/assessment/core/quiz-report'
import { civilDate } from '@/lib/kernel/dates'
import { readSeedQuiz } from '@/prisma/seed/attempts'
import { readSeedContent } from '@/prisma/seed/content'
import { generateDemo } from '@/prisma/seed/larkmoor'
import { behavioursOf } from '@/prisma/seed/quiz-answers'

const sitting = (personId: string, day: number, fractions: number[]): SittingRecord => ({
  personId,
  on: civilDate(`2026-01-${String(day).padStart(2, '0')}`),
  locale: 'en',
  passed: fractions.reduce((s, v) => s + v, 0) / fractions.length >= 0.7,
  scoreFraction: fractions.reduce((s, v) => s + v, 0) / fractions.length,
  cutFraction: 0.7,
  items: fractions.map((fraction, i) => ({
    id: `q${i}`,
    kind: 'question',
    competency: i % 2 ? 'check-in' : 'accounting',
    fraction,
    weight: 1,
    counted: true,
  })),
})

describe('the report of a quiz', () => {
  it('is about each person’s first sitting, and counts every form for exposure', () => {
    const report = quizReport({
      sittings: [sitting('a', 9, [1, 1]), sitting('a', 3, [0, 1]), sitting('b', 4, [1, 1])],
      options: new Map(),
    })
    expect(report).toMatchObject({ sittings: 3, people: 2, passRate: 0.5, meanFraction: 0.75 })
    expect(report.items[0]).toMatchObject({ people: 2, p: 0.5, exposure: 1 })
    expect(report.exposure.forms).toBe(3)
  })

  it('does not depend on the order of the sittings', () => {
    const sittings = Array.from({ length: 60 }, (_, i) =>
      sitting(`p${i}`, 1 + (i % 28), [1, i % 3 ? 1 : 0, i % 2, i % 5 ? 1 : 0]),
    )
    const a = quizReport({ sittings, options: new Map() })
    const b = quizReport({ sittings: sittings.toReversed(), options: new Map() })
    expect(b.reliability!.alpha).toBeCloseTo(a.reliability!.alpha, 12)
    expect(b.items.map((i) => i.p)).toEqual(a.items.map((i) => i.p))
  })

  it('has nothing to say without people, and says so for few', () => {
    expect(quizReport({ sittings: [], options: new Map() })).toMatchObject({ people: 0, reliability: null })
    const few = quizReport({ sittings: [sitting('a', 3, [0, 1])], options: new Map() })
    expect(few.reliability).toBeNull()
    expect(few.rasch).toBeNull()
    expect(few.items[0]!.findings[0]!.kind).toBe('too-few-answers')
  })

  it('finds the faults that the demonstration was made with, and its true difficulties', () => {
    const quiz = readSeedQuiz()!
    const county = generateDemo({ today: civilDate('2026-06-01'), quiz, ...readSeedContent() }).counties[0]!
    const competencies = new Map(quiz.definition.questions.map((q) => [q.id, q.competency]))
    const chosen = new Map(
      county.attemptEvents.map((e) => {
        const { question, answer } = e.event as { question: string; answer: { option?: string } }
        return [`${e.attemptId} ${question}`, answer.option ?? null]
      }),
    )
    const sittings = county.attempts.map((a): SittingRecord => {
      const result = a.result as unknown as SittingRecord & { items: SittingRecord['items'] }
      return {
        personId: a.pollWorkerId,
        on: civilDate((a.finishedAt as Date).toISOString().slice(0, 10)),
        locale: a.locale as 'en',
        passed: result.passed,
        scoreFraction: result.scoreFraction,
        cutFraction: result.cutFraction,
        items: result.items.map((item) => ({
          ...item,
          kind: 'question',
          competency: competencies.get(item.id)!,
          option: chosen.get(`${a.id} ${item.id}`) ?? null,
        })),
      }
    })
    const options = new Map(
      quiz.definition.questions.flatMap((q) => (q.kind === 'single' ? [[q.id, q.options] as const] : [])),
    )
    const report = quizReport({ sittings, options })
    const faults = new Map([...behavioursOf(quiz.definition.questions)].map(([id, b]) => [b.fault, id]))
    const of = (fault: 'too-easy' | 'tempts-the-able' | 'tells-nobody-apart' | 'leaked') =>
      report.items.find((i) => i.id === faults.get(fault))!
    const kinds = (fault: Parameters<typeof of>[0]) => of(fault).findings.map((f) => f.kind)
    expect(kinds('too-easy')).toContain('too-easy')
    expect(kinds('tempts-the-able')[0]).toBe('check-the-key')
    expect(kinds('tells-nobody-apart')).toContain('does-not-tell-apart')
    expect(report.items.filter((i) => i.drift?.drifted).map((i) => i.id)).toEqual([faults.get('leaked')])
    expect(report.reliability!.alpha).toBeGreaterThan(0.4)
    expect(report.reliability!.alpha).toBeLessThan(0.85)
    // Difficulties of the rest: the order comes back.
    const behaviours = behavioursOf(quiz.definition.questions)
    const pairs = report.items.flatMap((i) => {
      const truth = behaviours.get(i.id)!
      return i.rasch && !truth.fault ? [[truth.difficulty, i.rasch.difficulty] as const] : []
    })
    let agree = 0
    let of2 = 0
    for (const [i, a] of pairs.entries())
      for (const b of pairs.slice(i + 1)) {
        of2++
        if (a[0] < b[0] === a[1] < b[1]) agree++
      }
    expect(agree / of2).toBeGreaterThan(0.7)
  })
})

describe('what it is made of', () => {
  it('matches people with different forms by stratum: the same tables give the same test', () => {
    const rows = [
      { focal: false, stratum: 3, right: true },
      { focal: false, stratum: 3, right: false },
      { focal: true, stratum: 3, right: true },
      { focal: true, stratum: 5, right: true },
      { focal: false, stratum: 5, right: true },
      { focal: true, stratum: 5, right: false },
    ]
    const byHand = mantelHaenszel([
      [
        [1, 1],
        [1, 0],
      ],
      [
        [1, 0],
        [1, 1],
      ],
    ])
    expect(itemFunctioning(rows)).toMatchObject({ ...byHand, size: null })
  })

  it('expects the ability that the integral gives, and none for nobody', () => {
    // One item of difficulty 0, right: E θ = ∫ θ φ(θ) / (1 + e^(−θ)) dθ ÷ ½, by a sum of another step.
    let top = 0
    for (let t = -9; t < 9; t += 0.001)
      top += t * (Math.exp((-t * t) / 2) / Math.sqrt(2 * Math.PI)) * chanceRight(t, 0) * 0.001
    expect(expectedAbility([1], [0])).toBeCloseTo(2 * top, 6)
    expect(expectedAbility([0], [0])).toBeCloseTo(-2 * top, 6)
    expect(expectedAbility([Number.NaN], [0])).toBeCloseTo(0, 12)
  })
})
