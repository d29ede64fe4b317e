import * as fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { issuePlan, type OpenIssue } from '@/lib/certification/core/issue-plan'
import { readSerial, SERIAL_LENGTH, serialFrom } from '@/lib/certification/core/serial'
import { STATUS_LIST_SIZE, statusPlace, statusRange } from '@/lib/certification/core/status-list'
import { addDays, civilDate } from '@/lib/kernel/dates'
import { holdsOn, normalise, type Span } from '@/lib/kernel/spans'

const TODAY = civilDate('2026-06-01')
const span = (from: string, until: string | null): Span => ({
  from: civilDate(from),
  until: until === null ? null : civilDate(until),
})
const issue = (id: string, from: string, until: string | null): OpenIssue => ({ id, ...span(from, until) })

describe('what is issued and withdrawn', () => {
  it('is nothing where each span that still counts is stated', () => {
    const held = span('2026-01-01', '2027-01-01')
    expect(issuePlan([held], [{ id: 'a', ...held }], TODAY)).toEqual({ issue: [], withdraw: [] })
    expect(issuePlan([span('2024-01-01', '2026-06-01')], [], TODAY)).toEqual({ issue: [], withdraw: [] })
  })

  it('is one more issue for a longer span; the shorter stays true', () => {
    expect(
      issuePlan([span('2026-01-01', '2028-01-01')], [issue('a', '2026-01-01', '2027-01-01')], TODAY),
    ).toEqual({ issue: [span('2026-01-01', '2028-01-01')], withdraw: [] })
  })

  it('is a withdrawal where an issue claims a day that no span covers', () => {
    expect(
      issuePlan([span('2026-01-01', '2026-09-01')], [issue('a', '2026-01-01', '2027-01-01')], TODAY),
    ).toEqual({ issue: [span('2026-01-01', '2026-09-01')], withdraw: ['a'] })
    expect(issuePlan([], [issue('a', '2026-01-01', null)], TODAY)).toEqual({ issue: [], withdraw: ['a'] })
  })

  const day = fc.integer({ min: -400, max: 800 }).map((n) => addDays(TODAY, n))
  const someSpan = fc
    .record({ from: day, until: fc.option(day, { nil: null }) })
    .filter(({ from, until }) => until === null || from < until)
  it('never leaves an issue that says more than holds, nor a span unstated; done twice it does nothing', () => {
    fc.assert(
      fc.property(fc.array(someSpan, { maxLength: 4 }), fc.array(someSpan, { maxLength: 4 }), (raw, rows) => {
        const spans = normalise(raw)
        const issues = rows.map((row, i) => ({ id: `i${i}`, ...row }))
        const plan = issuePlan(spans, issues, TODAY)
        const after = [
          ...issues.filter((i) => !plan.withdraw.includes(i.id)),
          ...plan.issue.map((s, i) => ({ id: `n${i}`, ...s })),
        ]
        for (let n = 0; n < 820; n += 7) {
          const d = addDays(TODAY, n)
          expect(holdsOn(normalise(after), d)).toBe(holdsOn(spans, d))
        }
        expect(issuePlan(spans, after, TODAY)).toEqual({ issue: [], withdraw: [] })
      }),
      { numRuns: 200 },
    )
  })
})

describe('places in the status lists', () => {
  it('are all different within a list, and stay in their list', () => {
    const seen = new Set<number>()
    const [from, until] = statusRange(3)
    for (let n = from; n < until; n++) {
      const { list, index } = statusPlace(n)
      if (list !== 3 || index < 0 || index >= STATUS_LIST_SIZE) throw new Error(`${n}: ${list} ${index}`)
      seen.add(index)
    }
    expect(seen.size).toBe(STATUS_LIST_SIZE)
  })
})

describe('a number', () => {
  it('is read back from how people type it', () => {
    const serial = serialFrom(Uint8Array.from({ length: SERIAL_LENGTH }, (_, i) => i * 21))
    expect(serial).toMatch(/^.{4}-.{4}-.{4}$/)
    for (const typed of [serial, serial.toLowerCase(), serial.replaceAll('-', ''), ` ${serial} `])
      expect(readSerial(typed)).toBe(serial)
    expect(readSerial('OOOO-IIII-LLLL')).toBe('0000-1111-1111')
    for (const wrong of ['', 'short', `${serial}X`, '????-????-????']) expect(readSerial(wrong)).toBeNull()
  })
})
