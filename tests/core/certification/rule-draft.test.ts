/** The rule's form as a browser without JavaScript uses it: each button sends the whole form as an address. */
import { describe, expect, it } from 'vitest'
import { draftIn, type Search } from '@/app/(office)/office/[county]/rules/[certificate]/draft'
import { BRACKET, type RuleLine } from '@/lib/certification/core/rule-form'

/** The form's fields as a browser would send them back, with some changed, after a button. */
const press = (lines: readonly RuleLine[], button: string, changed: Search = {}): RuleLine[] => {
  const search: Search = { lines: String(lines.length), effectiveFrom: '2027-01-01', do: button }
  lines.forEach((line, i) => {
    for (const [field, value] of Object.entries(line)) search[`${i}.${field}`] = String(value)
  })
  return draftIn({ ...search, ...changed })!.lines
}
const outline = (lines: readonly RuleLine[]) => lines.map((l) => `${' '.repeat(l.level)}${l.join} ${l.what}`)

describe('the rule’s form', () => {
  it('is built into groups within groups by buttons alone', () => {
    let lines = draftIn({ lines: '1', '0.what': 'quizPassed:q', do: 'add' })!.lines
    lines = press(lines, 'inside-1', { '1.what': BRACKET })
    lines = press(lines, 'inside-1', { '2.what': 'classAttended:c' })
    lines = press(lines, 'inside-3', { '3.what': BRACKET, '3.join': 'or' })
    lines = press(lines, 'inside-3', { '4.what': 'served:lead' })
    lines = press(lines, 'preview', { '5.what': 'checkOff:cards' })
    expect(outline(lines)).toEqual([
      'and quizPassed:q',
      'and bracket',
      ' and classAttended:c',
      ' or bracket',
      '  and served:lead',
      '  and checkOff:cards',
    ])
    expect(outline(press(lines, 'out-4'))).toEqual([
      'and quizPassed:q',
      'and bracket',
      ' and classAttended:c',
      ' or bracket',
      '  and checkOff:cards',
      ' and served:lead',
    ])
    expect(outline(press(lines, 'remove-1'))).toEqual([
      'and quizPassed:q',
      'and classAttended:c',
      'or bracket',
      ' and served:lead',
      ' and checkOff:cards',
    ])
  })

  it('takes any address: levels, buttons and numbers that can’t be are mended or left out', () => {
    expect(draftIn({})).toBeNull()
    expect(draftIn({ lines: 'x' })).toBeNull()
    const wild = { lines: '3', '0.level': '7', '1.level': '-2', '2.level': '99', '2.join': ['or', 'and'] }
    for (const button of ['remove-9', 'in-0', 'out-77', 'inside-2', 'nothing', 'remove-x'])
      expect(draftIn({ ...wild, do: button })!.lines.map((l) => l.level)).toEqual([0, 0, 0])
    expect(draftIn({ lines: '999', do: 'add' })!.lines.length).toBeLessThan(50)
  })
})
