import { describe, expect, it } from 'vitest'
import { levelWords, statusWords } from '@/lib/roster/proof-words'
import type { RosterResult } from '@/lib/roster/schema'

const level = (
  name: 'seats' | 'violations' | 'cost',
  value: number[],
  bound: number[] | null,
  gap: number | null,
): RosterResult['levels'][number] => ({
  level: name === 'seats' ? 1 : name === 'violations' ? 2 : 3,
  name,
  value,
  bound,
  gap,
  closedBy: gap === 0 ? 'duals' : 'open',
  basis: '',
})
const result = (levels: RosterResult['levels'], status: RosterResult['status'] = 'within-gap') => ({
  status,
  classes: [
    { key: 'lead/1', seats: 10 },
    { key: 'minimum/2', seats: 20 },
    { key: 'minimum/3', seats: 20 },
    { key: 'rest/4', seats: 15 },
  ],
  levels,
})
const said = (levels: RosterResult['levels']) =>
  levelWords(result(levels)).map((l) => `${l.proven ? 'yes' : 'no'}: ${l.title}. ${l.sentence}`)

describe('what a run has proven, in words', () => {
  it('tells the tiers apart, and what each bound adds to those before it', () => {
    // The bound counts the classes up to each: 10, 29, 49, 58. By hand: the minimum crew is 19 + 17 = 36 of 40, and with
    // the leads 46 of at most 49: 3 more could be. The rest: 9 of 15, 55 of at most 58: 3 more could be, of 6 empty.
    expect(said([level('seats', [10, 19, 17, 9], [10, 29, 49, 58], 3)])).toEqual([
      'yes: 10 of 10 lead seats filled. Every one of the lead seats is filled.',
      'no: 36 of 40 seats of the legal minimum crew filled. 4 seats stayed empty; at most 3 more could be filled, and it is not known whether any can.',
      'no: 9 of 15 further seats filled. 6 seats stayed empty; at most 3 more could be filled, and it is not known whether any can.',
    ])
  })

  it('says proven only where the bound is reached', () => {
    expect(said([level('seats', [9, 20, 19, 15], [9, 29, 48, 63], 0)])).toEqual([
      'yes: 9 of 10 lead seats filled. 1 seat can’t be filled: this is proven.',
      'yes: 39 of 40 seats of the legal minimum crew filled. 1 seat can’t be filled without emptying a more important one: this is proven.',
      'yes: 15 of 15 further seats filled. Every one of the further seats is filled.',
    ])
  })

  it('puts the gap of the travel as a share of what is travelled, never less than it is', () => {
    // 1.23 % of the value may be saved: 1.3 of every 100 miles when rounded up.
    expect(said([level('cost', [1000], [988], 0.0123)])[0]).toMatch(
      /^no: Travel\. Of every 100 miles at most 1\.3 could be saved; whether they can is not known/,
    )
    expect(said([level('cost', [1000], [1000], 0)])[0]).toMatch(/^yes: Travel/)
    expect(said([level('cost', [1000], null, null)])[0]).toMatch(/^no: Travel.*not proven/)
  })

  it('speaks of rules only where one is not met, and names each status', () => {
    expect(said([level('violations', [0], [0], 0)])).toEqual([])
    expect(said([level('violations', [3], [2], 1)])[0]).toMatch(/^no: 3 wishes .*At least 2 can’t be met/)
    const words = (['optimal', 'within-gap', 'interrupted'] as const).map((s) => statusWords(result([], s)))
    expect(new Set(words).size).toBe(3)
    expect(words[2]).toMatch(/stopped before its end/)
  })
})
