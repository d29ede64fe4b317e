import { describe, expect, it } from 'vitest'
import spans from '@/lib/cli/calc/spans'
import status from '@/lib/cli/calc/status'

const requirement = {
  kind: 'evidence',
  fact: 'quizPassed',
  topic: 'q',
  window: { kind: 'months', months: 24 },
}
const facts = [{ id: '1', kind: 'quizPassed', topic: 'q', on: '2024-02-29' }]
const policy = {
  certificateKey: 'c',
  ruleSets: [{ certificateKey: 'c', version: 1, effectiveFrom: '2025-01-01', requirement, citation: 'x' }],
}
const ask = (door: typeof spans | typeof status, input: unknown) => {
  const parsed = (door.input as typeof spans.input).safeParse(input)
  if (!parsed.success) return parsed.error.issues.map((i) => `${i.path.join('.')}: ${i.message}`)
  return (door.run as (i: unknown) => unknown)(parsed.data)
}

describe('calc spans and calc status', () => {
  it('take a bare requirement or a whole policy', () => {
    expect(ask(spans, { rules: requirement, facts, elections: [] })).toEqual({
      spans: [{ from: '2024-02-29', until: '2026-02-28' }],
    })
    expect(ask(spans, { rules: policy, facts })).toEqual({
      spans: [{ from: '2025-01-01', until: '2026-02-28' }],
    })
  })

  it('say until when it holds, or why not and what is missing', () => {
    expect(ask(status, { rules: requirement, facts, on: '2026-02-27' })).toMatchObject({
      valid: true,
      until: '2026-02-28',
      todo: [],
    })
    expect(ask(status, { rules: requirement, facts, on: '2026-02-28' })).toMatchObject({
      valid: false,
      lapsedOn: '2026-02-28',
      earliestOn: '2026-02-28',
      why: { reason: 'lapsed' },
      todo: [{ reason: 'lapsed', doBy: '2026-02-28' }],
    })
  })

  it('name the field that is wrong', () => {
    expect(ask(spans, { rules: { ...requirement, window: { kind: 'months', months: 0 } }, facts })).toEqual([
      'rules.window.months: Too small: expected number to be >=1',
    ])
    expect(
      ask(spans, {
        rules: { ...policy, ruleSets: [{ ...policy.ruleSets[0], effectiveFrom: '2025-02-29' }] },
        facts,
      }),
    ).toEqual(['rules.ruleSets.0.effectiveFrom: Give a day like 2028-11-07.'])
    const [issue] = ask(spans, {
      rules: requirement,
      facts: [{ ...facts[0], kind: 'certified' }],
    }) as string[]
    expect(issue).toMatch(/^facts\.0\.kind/)
  })
})
