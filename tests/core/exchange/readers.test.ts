import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import Papa from 'papaparse'
import { describe, expect, it } from 'vitest'
import { readVipPlaces } from '@/lib/exchange/core/vip-places'
import { readCsv } from '@/lib/exchange/read-csv'
import { formatOf } from '@/lib/exchange/read-file'
import { readVip } from '@/lib/exchange/read-vip'
import { readXlsx } from '@/lib/exchange/read-xlsx'
import { csvFile } from '@/lib/papers/csv'
import { sheetXml, workbook, workbookFiles, zipOf } from '@/tests/support/workbook'

const SAMPLE = readFileSync('tests/reference/vip/sample_feed_v5.2_places_only.xml')
const csv = (text: string) => readCsv(Buffer.from(text))

describe('a CSV file', () => {
  const cell = fc
    .string({ unit: 'grapheme', maxLength: 12 })
    .map((t) => `x${t.replace(/[\p{Cc}\uFFFD]/gu, '')}`)
  const rows = fc.array(fc.array(cell, { minLength: 3, maxLength: 3 }), { minLength: 1, maxLength: 8 })

  it('is read as a second parser reads it (Papa Parse), however it is delimited and quoted', () => {
    fc.assert(
      fc.property(rows, fc.constantFrom(',', ';', '\t', '|'), fc.boolean(), (table, delimiter, quotes) => {
        const text = Papa.unparse([['a', 'b', 'c'], ...table], { delimiter, quotes })
        const second = Papa.parse<string[]>(text, { delimiter }).data
        const read = csv(text)
        expect([read.header, ...read.rows.map((r) => r.cells)]).toEqual(second)
      }),
      { numRuns: 300, seed: 8 },
    )
  })

  it('comes back as our own writer wrote it', () => {
    fc.assert(
      fc.property(rows, (table) => {
        expect(csv(csvFile(['a', 'b', 'c'], table)).rows.map((r) => r.cells)).toEqual(table)
      }),
      { numRuns: 200, seed: 9 },
    )
  })

  it('may be UTF-8, UTF-16 or, with a note, windows-1252', () => {
    const text = 'a,b\r\nJosé,1\r\n'
    const le = Buffer.concat([Buffer.from([0xff, 0xfe]), Buffer.from(text, 'utf16le')])
    const be = Buffer.from(le).swap16()
    for (const bytes of [Buffer.from(text), Buffer.from(`\uFEFF${text}`), le, be]) {
      const read = readCsv(bytes)
      expect(read.header[0]).toBe('a')
      expect(read.rows[0]!.cells[0]).toBe('José')
      expect(read.notes).toEqual([])
    }
    const old = readCsv(Buffer.from(text, 'latin1'))
    expect(old.rows[0]!.cells[0]).toBe('José')
    expect(old.notes[0]).toContain('windows-1252')
  })

  it('counts rows as a spreadsheet does, blank ones and line breaks in cells included', () => {
    const read = csv('a,b\n\n"two\nlines",1\n\nx,2\n')
    expect(read.rows.map((r) => r.row)).toEqual([3, 5])
  })

  it('takes the delimiter that a first line “sep=;” names, and old line ends', () => {
    expect(csv('sep=;\na;b\n1;2\n').header).toEqual(['a', 'b'])
    expect(csv('a,b\r1,2\r').rows[0]!.cells).toEqual(['1', '2'])
  })

  it('says on which line a quotation mark opens that never closes', () => {
    expect(() => csv('a,b\n1,2\n3,"x\n4,5\n')).toThrow(/^Line 3:.*never closed/)
  })
})

describe('a workbook', () => {
  it('gives text, numbers, dates and truth values', async () => {
    // 18809 is 30 June 1951 in the 1900 date system: 25569 is 1 January 1970, and 6760 days lie between.
    const read = await readXlsx(
      await workbook([
        ['Number', 'Name', 'Born', 'Active', 'Phone'],
        [12, 'José & “Pepe”', { serial: 18809 }, true, 5550101234],
        [13, ' Ana ', null, false, 1.5],
      ]),
    )
    expect(read.rows.map((r) => r.cells)).toEqual([
      ['12', 'José & “Pepe”', '1951-06-30', 'yes', '5550101234'],
      ['13', ' Ana ', '', 'no', '1.5'],
    ])
  })

  it('is told by its first bytes, not by its name', async () => {
    expect(formatOf(await workbook([['a'], ['b']]))).toBe('xlsx')
    expect(formatOf(SAMPLE)).toBe('xml')
    expect(formatOf(Buffer.from('\uFEFFname,id\n'))).toBe('csv')
  })

  it('unpacks nothing of an archive whose entries say that they are huge', async () => {
    const bytes = await zipOf({ ...workbookFiles(sheetXml([['a'], ['b']])), 'x.bin': 'x' })
    bytes.writeUInt32LE(0xfffffff0, bytes.lastIndexOf('x.bin') - 46 + 24)
    await expect(readXlsx(bytes)).rejects.toThrow(/harmful/)
  })
})

describe('the VIP 5.2 sample', () => {
  it('imports whole, in pieces of any size', async () => {
    const whole = await readVip([SAMPLE])
    expect(whole.problems).toEqual([])
    const pieces = Array.from({ length: Math.ceil(SAMPLE.length / 777) }, (_, i) =>
      SAMPLE.subarray(i * 777, i * 777 + 777),
    )
    expect(await readVip(pieces)).toEqual(whole)
    const { counts, places, precincts } = readVipPlaces(whole, null)
    // Counted in the file with grep.
    expect(counts).toMatchObject({
      places: 27,
      precincts: 32,
      localities: 2,
      states: 1,
      hours: 3,
      streetSegments: 13,
      earlySites: 2,
      mailOnlyPrecincts: 1,
    })
    expect(places.find((p) => p.code === 'pl81273')).toMatchObject({
      name: 'ALBEMARLE HIGH SCHOOL',
      address: '2775 Hydraulic Rd, Charlottesville, VA 229018917',
      point: { lat: 38.075578, lon: -78.501695 },
      kind: 'earlyVotingSite',
      hours: [
        { firstOn: '2013-10-21', lastOn: '2013-10-26', opensAt: '07:00', closesAt: '19:00' },
        { firstOn: '2013-10-28', lastOn: '2013-11-02', opensAt: '07:00', closesAt: '19:00' },
        { firstOn: '2013-11-04', lastOn: '2013-11-04', opensAt: '07:00', closesAt: '19:00' },
      ],
    })
    // Precinct 0304 names two early-voting sites beside its place for election day.
    expect(precincts.find((p) => p.code === '0304')).toMatchObject({
      name: '304 - EAST IVY',
      placeCode: 'pl81213',
    })
    expect(precincts.find((p) => p.code === '9999')).toMatchObject({ placeCode: null })
  })

  it('stays small in memory however many street segments there are', async () => {
    const [head, tail] = SAMPLE.toString('utf8').split(/(?=<\/VipObject>)/) as [string, string]
    const segment = (i: number) =>
      `<StreetSegment id="ssx${i}"><City>Charlottesville</City><IncludesAllAddresses>true</IncludesAllAddresses><PrecinctId>pre92360</PrecinctId><State>VA</State><StreetName>Long Name Of A Street ${i}</StreetName><Zip>22901</Zip></StreetSegment>\n`
    const COUNT = 150_000
    function* pieces() {
      yield Buffer.from(head)
      for (let i = 0; i < COUNT; i += 1000)
        yield Buffer.from(Array.from({ length: 1000 }, (_, j) => segment(i + j)).join(''))
      yield Buffer.from(tail)
    }
    let bytes = 0
    const began = performance.now()
    const read = await readVip(pieces(), (n) => (bytes = n))
    expect(read.counts.StreetSegment).toBe(13 + COUNT)
    expect(read.objects).toHaveLength(67)
    expect(read.problems).toEqual([])
    const seconds = (performance.now() - began) / 1000
    console.log(
      `${(bytes / 1e6).toFixed(0)} MB in ${seconds.toFixed(1)} s, ${(process.memoryUsage().rss / 1e6).toFixed(0)} MB resident`,
    )
  })

  it('of version 5.1 is read, others are named and refused', async () => {
    const as = (version: string) =>
      readVip([
        Buffer.from(SAMPLE.toString('utf8').replace('schemaVersion="5.2"', `schemaVersion="${version}"`)),
      ])
    expect((await as('5.1')).version).toBe('5.1')
    await expect(as('6.0')).rejects.toThrow(/schemaVersion “6.0”; versions 5.1 and 5.2 are read/)
  })
})
