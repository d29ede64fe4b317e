import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { loadPolicyTemplates } from '@/lib/certification/content'
import {
  BRACKET,
  type EvidenceChoice,
  linesOf,
  NEW_LINE,
  type RuleLine,
  requirementOf,
  withEarlierTraining,
} from '@/lib/certification/core/rule-form'
import {
  addInside,
  lineNames,
  moveIn,
  moveOut,
  takeOut,
  tidyLevels,
} from '@/lib/certification/core/rule-outline'
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
        const all = [...loadPolicyTemplates().values()].flatMap((t) =>
          t.policy.ruleSets.flatMap((r) => leaves(r.requirement)),
        )
        expect(requirementOf(lines, all), key).toEqual({ ok: true, requirement })
      }
  })

  it('shows training of before as an alternative to all the rest', () => {
    for (const [key, { policy }] of loadPolicyTemplates()) {
      const { requirement } = policy.ruleSets.at(-1)!
      const whole = Requirement.parse(withEarlierTraining(requirement, key, 18, { nameEn: 'A', nameEs: 'B' }))
      expect(linesOf(whole).at(-1)).toMatchObject({ level: 0, join: 'or', number: '18' })
      expect(requirementOf(linesOf(whole), leaves(whole))).toEqual({ ok: true, requirement: whole })
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
        const again = requirementOf(linesOf(first.requirement), CHOICES)
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
    // Words and number of one line must not contradict each other.
    const words = { labelEn: 'Pass it with 85 % or more', labelEs: 'Apruébelo con 85 % o más' }
    expect(problemsOf([line('quizPassed:lead-quiz', { ...words, score: '85' })])).toEqual([])
    expect(problemsOf([line('quizPassed:lead-quiz', { ...words, score: '70' })])).toEqual([
      [0, 'labelEn'],
      [0, 'labelEs'],
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

  it('reads brackets within brackets, and says them as a sentence', () => {
    const always = { window: 'always' as const }
    const lines = [
      line('quizPassed:lead-quiz', always),
      line(BRACKET),
      line('classAttended:lead-class', { ...always, level: 1 }),
      line(BRACKET, { level: 1, join: 'or' }),
      line('served:lead', { ...always, level: 2 }),
      line('checkOff:cards', { ...always, level: 2 }),
    ]
    const reading = requirementOf(lines, CHOICES)
    expect(reading.ok && requirementSentence(reading.requirement, 'en')).toBe(
      'quizPassed lead-quiz, and (classAttended lead-class, or [served lead, and checkOff cards])',
    )
    const swapped = [
      lines[1]!,
      line(BRACKET, { level: 1 }),
      ...lines.slice(4),
      { ...lines[2]!, join: 'or' as const },
    ]
    const other = requirementOf(
      [lines[0]!, ...swapped],
      [{ ...CHOICES[2]!, label: { en: 'Serve', es: 'Sirva' } }, ...CHOICES.filter((_, i) => i !== 2)],
    )
    expect(other.ok && requirementSentence(other.requirement, 'en')).toBe(
      'quizPassed lead-quiz, and ([serve, and checkOff cards], or classAttended lead-class)',
    )
    expect(lineNames(lines)).toEqual(['1', '2', '2.1', '2.2', '2.2.1', '2.2.2'])
    expect(problemsOf([line(BRACKET), line('served:lead')])).toEqual([[0, 'what']])
  })

  it('law: rule → lines → rule means the same, whatever is inside what', () => {
    const names = ['a', 'b', 'c', 'd', 'e']
    const { rule } = fc.letrec<{ rule: Requirement }>((tie) => {
      const parts = fc.array(tie('rule'), { minLength: 1, maxLength: 4 })
      return {
        rule: fc.oneof(
          { maxDepth: 4, withCrossShrink: true },
          fc.constantFrom(...names).map(
            (topic): Requirement => ({
              kind: 'evidence',
              fact: 'served',
              topic,
              window: { kind: 'always' },
            }),
          ),
          fc.record({ kind: fc.constant('all' as const), of: parts }),
          fc.record({ kind: fc.constant('any' as const), of: parts }),
          fc
            .tuple(parts, fc.integer({ min: 1, max: 4 }))
            .map(([of, n]): Requirement => ({ kind: 'atLeast', count: Math.min(n, of.length), of })),
        ),
      }
    })
    /** What a rule means, by its definition alone. */
    const holds = (r: Requirement, done: Set<string>): boolean => {
      if (r.kind === 'evidence') return done.has(r.topic)
      const n = r.of.filter((part) => holds(part, done)).length
      return n >= (r.kind === 'all' ? r.of.length : r.kind === 'any' ? 1 : r.count)
    }
    const sets = Array.from(
      { length: 2 ** names.length },
      (_, bits) => new Set(names.filter((_, i) => (bits >> i) & 1)),
    )
    const choices = names.map((name) => choice('served', name))
    fc.assert(
      fc.property(rule, (made) => {
        const lines = linesOf(made)
        expect(tidyLevels(lines)).toEqual(lines)
        const read = requirementOf(lines, choices)
        if (!read.ok) throw new Error(JSON.stringify(read.problems))
        for (const done of sets) expect(holds(read.requirement, done)).toBe(holds(made, done))
        expect(requirementOf(linesOf(read.requirement), choices)).toEqual(read)
      }),
    )
  })
})

describe('the levels of lines', () => {
  const outline = (lines: readonly RuleLine[]) => lines.map((l) => `${' '.repeat(l.level)}${l.what}`)
  const of = (...texts: string[]) =>
    texts.map((text) => line(text.trim(), { level: text.length - text.trimStart().length }))
  const before = of(BRACKET, ' a', ` ${BRACKET}`, '  b', ' c', 'd')

  it('change by moving a line with everything inside it', () => {
    expect(outline(moveOut(before, 2))).toEqual([BRACKET, ' a', ' c', BRACKET, ' b', 'd'])
    expect(outline(moveOut(before, 5))).toEqual(outline(before))
    expect(outline(moveIn(before, 5))).toEqual([BRACKET, ' a', ` ${BRACKET}`, '  b', ' c', ' d'])
    expect(outline(moveIn(before, 1))).toEqual(outline(before))
    expect(outline(moveIn(before, 4))).toEqual([BRACKET, ' a', ` ${BRACKET}`, '  b', '  c', 'd'])
  })

  it('stay sound when a bracket is taken out or becomes a line', () => {
    expect(outline(takeOut(before, 2))).toEqual([BRACKET, ' a', ' b', ' c', 'd'])
    expect(outline(takeOut(before, 0))).toEqual(['a', BRACKET, ' b', 'c', 'd'])
    expect(outline(tidyLevels(of('a', '  b', BRACKET, '   c')))).toEqual(['a', 'b', BRACKET, ' c'])
  })

  it('take a new line at the end of its bracket', () => {
    expect(outline(addInside(before, 0))).toEqual([BRACKET, ' a', ` ${BRACKET}`, '  b', ' c', ' ', 'd'])
    expect(outline(addInside(before, 5))).toEqual(outline(before))
  })
})

const leaves = (r: Requirement): EvidenceChoice[] =>
  r.kind === 'evidence' ? [{ fact: r.fact, topic: r.topic, label: r.label! }] : r.of.flatMap(leaves)
