import { describe, expect, it } from 'vitest'
import { withEarlierTraining } from '@/lib/certification/core/rule-form'
import { spansOf } from '@/lib/certification/core/spans-of'
import { lapsesOn, statusOn } from '@/lib/certification/core/status'
import { todo } from '@/lib/certification/core/todo'
import { Fact, Policy, Requirement } from '@/lib/certification/schema'
import { civilDate } from '@/lib/kernel/dates'
import { election, fact, policyOf, rule } from './examples'

const months = (n: number) => ({ kind: 'months' as const, months: n })
const quiz = rule('quizPassed', 'basics', months(24))
const cards = rule('checkOff', 'cards', months(24), { equipment: { kind: 'inUse' } })
const NAME = { nameEn: 'Lead', nameEs: 'Encargado' }
const lesson = rule('lessonFinished', 'intro', { kind: 'always' })
const basic = policyOf({ kind: 'all', of: [lesson, quiz, cards] })
const done = [
  fact('l', 'lessonFinished', 'intro', '2025-01-10'),
  fact('q', 'quizPassed', 'basics', '2025-01-12'),
  fact('c', 'checkOff', 'cards', '2025-02-01', { equipmentProfile: 'alder' }),
]
const reasons = (p: Policy, facts: Fact[], on: string) => {
  const { why } = statusOn(p, facts, [], civilDate(on))
  return why && why.kind !== 'evidence'
    ? why.of.map((w) => (w.kind === 'evidence' ? w.reason : w.kind))
    : why?.reason
}

describe('status on a date', () => {
  it('holds from the last part done until the first part lapses', () => {
    // Quiz of 12 January 2025 + 24 months = 12 January 2027; check-off lasts to 1 February 2027.
    expect(statusOn(basic, done, [], civilDate('2026-06-01'))).toMatchObject({
      valid: true,
      from: '2025-02-01',
      until: '2027-01-12',
      ruleVersion: 1,
    })
    expect(lapsesOn(basic, done, [], civilDate('2026-06-01'))).toBe('2027-01-12')
    expect(lapsesOn(basic, done, [], civilDate('2027-01-12'))).toBeNull()
  })

  it('lets somebody begin anew on the day after the certificate was taken away, not on the day itself', () => {
    const p = policyOf(quiz)
    const taken = [done[1]!, fact('t', 'certificateRevoked', p.certificateKey, '2025-05-01')]
    const on = (date: string) => statusOn(p, taken, [], civilDate(date))
    expect(on('2025-04-30').valid).toBe(true)
    expect(on('2025-05-01')).toMatchObject({ valid: false, earliestOn: '2025-05-02' })
    expect(on('2025-05-02')).toMatchObject({ valid: false, earliestOn: '2025-05-02' })
    expect(todo(p, taken, [], civilDate('2025-05-01'))[0]).toMatchObject({ possible: false })
    expect(todo(p, taken, [], civilDate('2025-06-01'))[0]).toMatchObject({
      possible: true,
      doFrom: '2025-05-02',
    })
  })

  it('says which part is missing, not yet there, lapsed, revoked or on other equipment', () => {
    expect(reasons(basic, [], '2025-03-01')).toEqual(['missing', 'missing', 'missing'])
    expect(reasons(basic, done, '2025-01-11')).toEqual(['held', 'notYet', 'notYet'])
    expect(reasons(basic, done, '2027-01-12')).toEqual(['held', 'lapsed', 'held'])
    const revoked = [...done, fact('r', 'revocation', 'copied', '2025-05-01', { revokes: 'q' })]
    expect(reasons(basic, revoked, '2025-05-01')).toEqual(['held', 'revoked', 'held'])
    expect(reasons(basic, revoked, '2025-04-30')).toEqual(['held', 'held', 'held'])
    const changed = {
      ...basic,
      equipmentChanges: [{ from: civilDate('2025-09-01'), profile: 'birch', replaces: 'alder' }],
    }
    expect(reasons(changed, done, '2025-08-31')).toEqual(['held', 'held', 'held'])
    expect(reasons(changed, done, '2025-09-01')).toEqual(['held', 'held', 'equipmentChanged'])
    expect(reasons(basic, [fact('c', 'checkOff', 'cards', '2025-02-01')], '2025-03-01')).toEqual([
      'missing',
      'missing',
      'noEquipmentNamed',
    ])
    const onAlder = policyOf({ ...cards, equipment: { kind: 'profile', profile: 'alder' } })
    expect(
      reasons(
        onAlder,
        [fact('c', 'checkOff', 'cards', '2025-02-01', { equipmentProfile: 'birch' })],
        '2025-03-01',
      ),
    ).toBe('otherEquipment')
    const strict = policyOf({ ...quiz, minScoreFraction: 0.85 })
    expect(
      reasons(
        strict,
        [fact('q', 'quizPassed', 'basics', '2025-02-01', { scoreFraction: 0.8 })],
        '2025-03-01',
      ),
    ).toBe('scoreTooLow')
  })

  it('counts a renewal before the lapse without a gap, and after it with one', () => {
    const renewed = (on: string) => [...done, fact('q2', 'quizPassed', 'basics', on)]
    expect(spansOf(basic, renewed('2026-12-01'), [])).toEqual([{ from: '2025-02-01', until: '2027-02-01' }])
    expect(spansOf(basic, renewed('2027-01-12'), [])).toEqual([{ from: '2025-02-01', until: '2027-02-01' }])
    expect(spansOf(basic, renewed('2027-01-15'), [])).toEqual([
      { from: '2025-02-01', until: '2027-01-12' },
      { from: '2027-01-15', until: '2027-02-01' },
    ])
    const gap = statusOn(basic, renewed('2027-01-15'), [], civilDate('2027-01-13'))
    expect(gap).toMatchObject({
      valid: false,
      lapsedOn: '2027-01-12',
      nextHoldsOn: '2027-01-15',
      earliestOn: '2027-01-13',
    })
  })

  it('judges each date by the version in effect on it, and nobody is certified in a gap', () => {
    const two = policyOf(quiz, {
      ruleSets: [
        { ...policyOf(quiz).ruleSets[0]!, effectiveUntil: civilDate('2025-06-01') },
        {
          certificateKey: 'tested',
          version: 2,
          effectiveFrom: civilDate('2025-07-01'),
          requirement: { kind: 'all', of: [quiz, cards] },
          citation: 'second',
        },
      ],
    })
    const quizOnly = [fact('q', 'quizPassed', 'basics', '2025-01-12')]
    expect(spansOf(two, quizOnly, [])).toEqual([{ from: '2025-01-12', until: '2025-06-01' }])
    expect(statusOn(two, quizOnly, [], civilDate('2025-06-15'))).toMatchObject({
      valid: false,
      ruleVersion: null,
      why: null,
      earliestOn: '2025-07-01',
    })
    expect(statusOn(two, quizOnly, [], civilDate('2025-07-01'))).toMatchObject({
      citation: 'second',
      ruleVersion: 2,
    })
    expect(spansOf(two, done, [])).toEqual([
      { from: '2025-01-12', until: '2025-06-01' },
      { from: '2025-07-01', until: '2027-01-12' },
    ])
  })

  it('lets a mistaken revocation be taken back', () => {
    const facts = [
      fact('q', 'quizPassed', 'basics', '2025-01-12'),
      fact('r', 'revocation', 'wrong person', '2025-03-01', { revokes: 'q' }),
      fact('u', 'revocation', 'right after all', '2025-04-01', { revokes: 'r' }),
    ]
    expect(spansOf(policyOf(quiz), facts, [])).toEqual([
      { from: '2025-01-12', until: '2025-03-01' },
      { from: '2025-04-01', until: '2027-01-12' },
    ])
  })

  it('ends on the day staff revoke the certificate; what is done later counts anew', () => {
    const taken = [
      fact('q', 'quizPassed', 'basics', '2025-01-12'),
      fact('c', 'certificateRevoked', 'tested', '2025-03-01'),
    ]
    const own: Policy = { ...policyOf(quiz), certificateKey: 'tested' }
    const other: Policy = { ...own, certificateKey: 'other' }
    expect(spansOf(own, taken, [])).toEqual([{ from: '2025-01-12', until: '2025-03-01' }])
    // Another certificate that rests on the same quiz is not touched.
    expect(spansOf(other, taken, [])).toEqual([{ from: '2025-01-12', until: '2027-01-12' }])
    expect(statusOn(own, taken, [], civilDate('2025-03-01'))).toMatchObject({
      valid: false,
      lapsedOn: '2025-03-01',
      why: { reason: 'revoked', until: '2025-03-01' },
    })
    const sameDay = [...taken, fact('s', 'quizPassed', 'basics', '2025-03-01')]
    expect(spansOf(own, sameDay, [])).toEqual([{ from: '2025-01-12', until: '2025-03-01' }])
    const anew = [...taken, fact('n', 'quizPassed', 'basics', '2025-05-01')]
    expect(spansOf(own, anew, []).at(-1)).toEqual({ from: '2025-05-01', until: '2027-05-01' })
    const back = [...taken, fact('u', 'revocation', 'a mistake', '2025-04-01', { revokes: 'c' })]
    expect(spansOf(own, back, [])).toEqual([
      { from: '2025-01-12', until: '2025-03-01' },
      { from: '2025-04-01', until: '2027-01-12' },
    ])
  })

  it('knows when it can never hold again', () => {
    const pilot = policyOf(
      rule('classAttended', 'pilot', { kind: 'fixedDate', until: civilDate('2025-12-31') }),
    )
    expect(statusOn(pilot, [], [], civilDate('2025-12-30'))).toMatchObject({ earliestOn: '2025-12-30' })
    expect(statusOn(pilot, [], [], civilDate('2025-12-31'))).toMatchObject({ earliestOn: null })
    const oath = policyOf(rule('oathSworn', 'oath', { kind: 'sameElection' }))
    expect(statusOn(oath, [], [election('2026-11-03')], civilDate('2026-11-04'))).toMatchObject({
      earliestOn: null,
    })
  })

  it('lets a check-off on new equipment count before the change, and one on the old never after it', () => {
    const changed = {
      ...policyOf(cards),
      equipmentChanges: [{ from: civilDate('2025-09-01'), profile: 'birch', replaces: 'alder' }],
    }
    const on = (profile: string, date: string) => [
      fact('c', 'checkOff', 'cards', date, { equipmentProfile: profile }),
    ]
    expect(spansOf(changed, on('birch', '2025-08-10'), [])).toEqual([
      { from: '2025-08-10', until: '2027-08-10' },
    ])
    expect(spansOf(changed, on('alder', '2025-08-10'), [])).toEqual([
      { from: '2025-08-10', until: '2025-09-01' },
    ])
    expect(spansOf(changed, on('alder', '2025-09-01'), [])).toEqual([])
  })
})

describe('a new version of the same equipment', () => {
  it('lapses check-offs of the days before, not those of its own day', () => {
    const updated = {
      ...policyOf(cards),
      equipmentChanges: [{ from: civilDate('2025-09-01'), profile: 'alder', replaces: 'alder' }],
    }
    const on = (date: string) =>
      spansOf(updated, [fact('c', 'checkOff', 'cards', date, { equipmentProfile: 'alder' })], [])
    expect(on('2025-08-31')).toEqual([{ from: '2025-08-31', until: '2025-09-01' }])
    expect(on('2025-09-01')).toEqual([{ from: '2025-09-01', until: '2027-09-01' }])
  })
})

describe('what is left to do', () => {
  it('leaves out what holds, and says until when the rest can be done', () => {
    const items = todo(basic, done.slice(0, 2), [], civilDate('2026-11-03'))
    expect(items.map((i) => [i.path, i.rule.topic, i.reason, i.doFrom, i.doBy])).toEqual([
      // 24 months before 3 November 2026 is 3 November 2024, and a check-off of that day lapses on the day.
      ['2', 'cards', 'missing', '2024-11-04', '2026-11-03'],
    ])
  })

  it('names the choice where fewer than all are needed', () => {
    const p = policyOf({
      kind: 'all',
      of: [
        quiz,
        { kind: 'any', of: [rule('classAttended', 'lead', months(24)), rule('served', 'lead', months(48))] },
      ],
    })
    expect(todo(p, [], [], civilDate('2026-01-01')).map((i) => [i.path, i.choices])).toEqual([
      ['0', []],
      ['1.0', [{ group: '1', stillNeeded: 1, option: 0 }]],
      ['1.1', [{ group: '1', stillNeeded: 1, option: 1 }]],
    ])
    expect(
      todo(p, [fact('s', 'served', 'lead', '2024-11-05')], [], civilDate('2026-01-01')).map((i) => i.path),
    ).toEqual(['0'])
  })
})

describe('refusals', () => {
  it('facts that contradict each other are refused with a reason', () => {
    const q = fact('q', 'quizPassed', 'basics', '2025-01-12')
    expect(() => spansOf(basic, [q, q], [])).toThrow('two facts have the id "q"')
    expect(() => spansOf(basic, [fact('r', 'revocation', '', '2025-01-12', { revokes: 'x' })], [])).toThrow(
      'unknown fact',
    )
    expect(() =>
      spansOf(
        basic,
        [
          fact('a', 'revocation', '', '2025-01-12', { revokes: 'b' }),
          fact('b', 'revocation', '', '2025-01-12', { revokes: 'a' }),
        ],
        [],
      ),
    ).toThrow('revokes itself')
  })

  it('rules that could never be meant are refused by the schema', () => {
    expect(Requirement.safeParse({ kind: 'all', of: [] }).success).toBe(false)
    expect(Requirement.safeParse({ kind: 'atLeast', count: 3, of: [quiz, cards] }).success).toBe(false)
    expect(Requirement.safeParse({ kind: 'atLeast', count: 2, of: [quiz, cards] }).success).toBe(true)
    expect(Fact.safeParse({ ...done[0], revokes: 'q' }).success).toBe(false)
    const twice = [basic.ruleSets[0], basic.ruleSets[0]]
    expect(Policy.safeParse({ ...basic, ruleSets: twice }).success).toBe(false)
  })
})

describe('training before the county kept its records here', () => {
  const earlier = rule('earlierTraining', 'lead', months(24))
  const p = policyOf(withEarlierTraining({ kind: 'all', of: [lesson, quiz] }, 'lead', 24, NAME))
  const trained = [fact('e', 'earlierTraining', 'lead', '2025-03-31')]

  it('stands for the whole rule, for so many months', () => {
    expect(earlier.window).toEqual(months(24))
    // 31 March 2025 + 24 months = 31 March 2027, exclusive.
    expect(spansOf(p, trained, [])).toEqual([{ from: '2025-03-31', until: '2027-03-31' }])
    expect(spansOf(p, [fact('e', 'earlierTraining', 'deputy', '2025-03-31')], [])).toEqual([])
  })

  it('is nothing that somebody is told to do, or that could make them ready', () => {
    expect(todo(p, [], [], civilDate('2026-01-01')).map((i) => [i.rule.fact, i.choices])).toEqual([
      ['lessonFinished', []],
      ['quizPassed', []],
    ])
    const alone = policyOf(earlier)
    expect(statusOn(alone, [], [], civilDate('2026-01-01'))).toMatchObject({ valid: false, earliestOn: null })
  })
})
