import { describe, expect, it } from 'vitest'
import type { ItemReport } from '@/lib/assessment/core/quiz-report'
import { itemAdvice } from '@/lib/assessment/core/quiz-words'

const item = (more: Partial<ItemReport>): ItemReport => ({
  id: 'q',
  kind: 'question',
  people: 100,
  p: 0.7,
  pointBiserial: 0.4,
  correctedPointBiserial: 0.3,
  options: [],
  findings: [],
  rasch: null,
  twoParameter: null,
  observed: [],
  functioning: null,
  drift: null,
  exposure: 0.5,
  ...more,
})
const options = ['a', 'b', 'c', 'd'].map((id) => ({ id }))
const texts = (more: Partial<ItemReport>) => itemAdvice(item(more), options).map((a) => a.text)

describe('advice about a question', () => {
  it('names answers by their place, several in one sentence', () => {
    expect(texts({ findings: [{ kind: 'check-the-key', option: 'c' }] })).toEqual([
      'The third answer attracts strong people more than the key does: check the key.',
    ])
    expect(
      texts({
        findings: [
          { kind: 'nobody-chooses', option: 'd' },
          { kind: 'nobody-chooses', option: 'a' },
        ],
      }),
    ).toEqual(['Hardly anybody chooses the first and fourth answers: write likelier wrong answers.'])
  })

  it('says of what nearly everybody knows only that', () => {
    expect(texts({ findings: [{ kind: 'too-easy' }, { kind: 'does-not-tell-apart' }] })).toEqual([
      'Too easy to tell people apart: nearly everybody is right.',
    ])
  })

  it('puts what somebody should look at first, and says nothing of a question that works', () => {
    const drift = { id: 'q', change: 1, z: 5, pValue: 1e-6, drifted: true, before: 0.6, after: 0.9 }
    const advice = itemAdvice(item({ findings: [{ kind: 'nobody-chooses', option: 'b' }], drift }), options)
    expect(advice.map((a) => a.weight)).toEqual(['look', 'know'])
    expect(advice[0]!.text).toContain('60 % right before, 90 % since')
    expect(texts({})).toEqual([])
  })
})
