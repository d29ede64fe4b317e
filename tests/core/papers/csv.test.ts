import { parse } from 'csv-parse/sync'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { csvCell, csvFile } from '@/lib/papers/csv'

const read = (text: string): string[][] =>
  parse(text, { record_delimiter: '\r\n', relax_column_count: false })

describe('a CSV file', () => {
  it('writes the examples of RFC 4180, section 2', () => {
    // Rules 6 and 7 of the RFC: "aaa","b CRLF bb","ccc" and "aaa","b""bb","ccc".
    expect(csvCell('b\r\nbb')).toBe('"b\r\nbb"')
    expect(csvCell('b"bb')).toBe('"b""bb"')
    expect(csvFile(['a', 'b', 'c'], [['aaa', 'bbb', 'ccc']])).toBe('a,b,c\r\naaa,bbb,ccc\r\n')
  })

  it('reads back through another parser as it was written, for any text that is no formula', () => {
    const cell = fc.string({ unit: 'grapheme', maxLength: 12 }).map((text) => `x${text}`)
    const rows = fc.array(fc.array(cell, { minLength: 3, maxLength: 3 }), { maxLength: 8 })
    fc.assert(
      fc.property(rows, (table) => {
        expect(read(csvFile(['a', 'b', 'c'], table))).toEqual([['a', 'b', 'c'], ...table])
      }),
      { numRuns: 300, seed: 8 },
    )
  })

  it.each(['=1+2', '+1', '-1', '@SUM(A1)', '\t=1', '\r=1', '  =1', '＝1', '=cmd|"/c calc"!A1'])(
    'keeps %j from being run as a formula',
    (attack) => {
      const [[, read1]] = [read(csvFile(['n', 'v'], [['x', attack]]))[1] as string[]]
      expect(read1).toBe(`'${attack}`)
    },
  )

  it('leaves numbers, dates and ordinary names alone', () => {
    expect([-5, 2.5, '2028-11-07', "O'Neill", 'Müller-Lüdenscheid'].map(csvCell)).toEqual([
      '-5',
      '2.5',
      '2028-11-07',
      "O'Neill",
      'Müller-Lüdenscheid',
    ])
  })

  it('refuses a row that is not as wide as its header', () => {
    expect(() => csvFile(['a'], [['1', '2']])).toThrow(RangeError)
  })
})
