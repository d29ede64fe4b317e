import { describe, expect, it } from 'vitest'
import { previewRules } from '@/lib/certification/core/preview'
import { requirementSentence } from '@/lib/certification/core/sentence'
import { civilDate } from '@/lib/kernel/dates'
import { fact, policyOf, rule } from './examples'

const quiz = (months: number) => rule('quizPassed', 'basics', { kind: 'months', months })

describe('the preview of changed rules', () => {
  it('names who would gain and who would lose on an election day', () => {
    const people = [
      // 30 months old on 3 November 2026: within 36, not within 24.
      { id: 'long ago', facts: [fact('1', 'quizPassed', 'basics', '2024-05-03')] },
      { id: 'lately', facts: [fact('2', 'quizPassed', 'basics', '2026-05-03')] },
      { id: 'never', facts: [] },
      { id: 'class only', facts: [fact('3', 'classAttended', 'basics', '2026-05-03')] },
    ]
    const either = policyOf({
      kind: 'any',
      of: [quiz(24), rule('classAttended', 'basics', { kind: 'months', months: 24 })],
    })
    const on = civilDate('2026-11-03')
    expect(previewRules(policyOf(quiz(36)), either, people, [], on)).toEqual({
      gain: ['class only'],
      lose: ['long ago'],
      keep: 1,
      neither: 1,
    })
    expect(previewRules(either, either, people, [], on)).toEqual({ gain: [], lose: [], keep: 2, neither: 2 })
  })
})

describe('a rule read as a sentence', () => {
  const lead = {
    kind: 'all' as const,
    of: [
      {
        ...quiz(24),
        minScoreFraction: 0.85,
        label: { en: 'Pass the lead quiz', es: 'Apruebe el examen de encargados' },
      },
      {
        kind: 'any' as const,
        of: [
          rule('classAttended', 'leads', { kind: 'daysBeforeElection', days: 45 }),
          rule('checkOff', 'opening', { kind: 'months', months: 1 }, { equipment: { kind: 'inUse' } }),
        ],
      },
      rule('oathSworn', 'oath', { kind: 'sameElection' }),
    ],
  }

  it('says it in English and in Spanish', () => {
    expect(requirementSentence(lead, 'en')).toBe(
      'Pass the lead quiz (with 85 % or more, counts 24 months), and (attend the class leads (not more than 45 days before the election), or be checked off in opening (counts 1 month, on equipment in use)), and swear the oath oath (for this election)',
    )
    expect(requirementSentence(lead, 'es')).toBe(
      'Apruebe el examen de encargados (con 85 % o más, vale 24 meses), y (asista a la clase leads (no más de 45 días antes de la elección), o bien demuestre la tarea opening (vale 1 mes, en equipo en uso)), y preste el juramento oath (para esta elección)',
    )
  })

  it('doesn’t bracket a group of one, nor the whole', () => {
    expect(requirementSentence({ kind: 'any', of: [quiz(2)] }, 'en')).toBe(
      'Pass the quiz basics (counts 2 months)',
    )
    expect(requirementSentence({ kind: 'atLeast', count: 2, of: [quiz(1), quiz(2), quiz(3)] }, 'en')).toMatch(
      /^at least 2 of these: Pass/,
    )
  })
})
