import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { loadPolicyTemplates } from '@/lib/certification/content'
import {
  type EvidenceChoice,
  linesOf,
  NEW_LINE,
  type RuleLine,
  requirementOf,
} from '@/lib/certification/core/rule-form'
import { requirementSentence } from '@/lib/certification/core/sentence'
import { type EvidenceRule, Requirement } from '@/lib/certification/schema'

const choice = (fact: EvidenceRule['fact'], topic: string): EvidenceChoice => ({
  fact,
  topic,
  label: { en: `${fact} ${topic}`, es: `${fact} ${topic}` },
})
const CHOICES = [
  choice('quizPassed', 'lead-quiz'),
  choice('checkOff', 'cards'),
  choice('served', 'lead'),
  choice('classAttended', 'lead-class'),
]
const line = (what: string, more: Partial<RuleLine> = {}): RuleLine => ({ ...NEW_LINE, what, ...more })
const problemsOf = (lines: RuleLine[]) => {
  const reading = requirementOf(lines, CHOICES)
  return reading.ok ? [] : reading.problems.map((p) => [p.line, p.field])
}

describe('a rule as a form', () => {
  it('brings every template through the form unchanged', () => {
    for (const [key, { policy }] of loadPolicyTemplates())
      for (const { requirement } of policy.ruleSets) {
        const lines = linesOf(requirement)
        expect(lines, key).not.toBeNull()
        const all = [...loadPolicyTemplates().values()].flatMap((t) =>
          t.policy.ruleSets.flatMap((r) => leaves(r.requirement)),
        )
        expect(requirementOf(lines!, all), key).toEqual({ ok: true, requirement })
      }
  })

  it('law: lines → rule → lines → rule gives the same rule', () => {
    const aLine = fc.record({
      what: fc.constantFrom('quizPassed:lead-quiz', 'checkOff:cards', 'served:lead'),
      join: fc.constantFrom('and' as const, 'or' as const),
      window: fc.constantFrom(
        'always' as const,
        'months' as const,
        'fixedDate' as const,
        'untilEndOfNextCycle' as const,
        'afterCycle' as const,
        'daysBeforeElection' as const,
        'sameElection' as const,
      ),
      number: fc.integer({ min: 1, max: 60 }).map(String),
      equipment: fc.constantFrom('', 'inUse', 'fern'),
      score: fc.constantFrom('', '85', '72.5'),
    })
    fc.assert(
      fc.property(fc.array(aLine, { minLength: 1, maxLength: 8 }), (made) => {
        const lines = made.map((m) => line(m.what, { ...m, date: '2026-01-01', plus: '3' }))
        const first = requirementOf(lines, CHOICES)
        if (!first.ok) throw new Error(JSON.stringify(first.problems))
        expect(Requirement.parse(first.requirement)).toEqual(first.requirement)
        const again = requirementOf(linesOf(first.requirement)!, CHOICES)
        expect(again).toEqual(first)
      }),
    )
  })

  it('reads ‘and’ and ‘or’ as the sentence says them', () => {
    const reading = requirementOf(
      [
        line('quizPassed:lead-quiz'),
        line('served:lead', { window: 'always' }),
        line('classAttended:lead-class', { join: 'or', window: 'always' }),
        line('checkOff:cards', { join: 'or', window: 'always' }),
      ].map((l, i) => (i === 1 ? { ...l, need: '2' } : l)),
      CHOICES,
    )
    expect(reading.ok && requirementSentence(reading.requirement, 'en')).toBe(
      'quizPassed lead-quiz (counts 24 months), and (at least 2 of these: served lead; classAttended lead-class; checkOff cards)',
    )
  })

  it('says at which line and field something is wrong', () => {
    expect(problemsOf([])).toEqual([[0, 'what']])
    expect(problemsOf([line('')])).toEqual([[0, 'what']])
    expect(problemsOf([line('quizPassed:gone')])).toEqual([[0, 'what']])
    expect(
      problemsOf([line('served:lead'), line('quizPassed:lead-quiz', { number: '0', score: '101' })]),
    ).toEqual([
      [1, 'score'],
      [1, 'number'],
    ])
    expect(problemsOf([line('served:lead', { window: 'fixedDate', date: '2026-02-30' })])).toEqual([
      [0, 'date'],
    ])
    expect(problemsOf([line('served:lead', { need: '3' }), line('checkOff:cards', { join: 'or' })])).toEqual([
      [0, 'need'],
    ])
    expect(problemsOf([line('checkOff:*')])).toEqual([
      [0, 'labelEn'],
      [0, 'labelEs'],
    ])
    // Only tasks and classes can be new: a lesson or a quiz has to be there.
    expect(problemsOf([line('quizPassed:*', { labelEn: 'a', labelEs: 'b' })])).toEqual([[0, 'what']])
  })

  it('names a new task by its words', () => {
    const reading = requirementOf(
      [line('checkOff:*', { labelEn: 'Set up the ramp, é', labelEs: 'Monte la rampa', window: 'always' })],
      [],
    )
    expect(reading).toMatchObject({ ok: true, requirement: { fact: 'checkOff', topic: 'set-up-the-ramp-e' } })
  })

  it('leaves rules with groups within groups alone', () => {
    const leaf = (topic: string): Requirement => ({
      kind: 'evidence',
      fact: 'served',
      topic,
      window: { kind: 'always' },
    })
    expect(linesOf({ kind: 'any', of: [leaf('a'), { kind: 'all', of: [leaf('b'), leaf('c')] }] })).toBeNull()
  })
})

const leaves = (r: Requirement): EvidenceChoice[] =>
  r.kind === 'evidence' ? [{ fact: r.fact, topic: r.topic, label: r.label! }] : r.of.flatMap(leaves)
