/** Import files with one thing wrong, from a seed: what a clerk's computer, a broken download or an attacker makes. */
import { readFileSync } from 'node:fs'
import type { ImportKind } from '@/lib/exchange/core/fields'
import { seededRandom } from '@/lib/kernel/random'
import { sheetXml, workbookFiles, zipOf } from './workbook'

export interface MalformedFile {
  seed: number
  what: string
  kind: ImportKind
  bytes: Buffer
  /** What the answer must say at least. */
  says: RegExp
}

type Draw = ReturnType<typeof seededRandom>
type Made = Omit<MalformedFile, 'seed' | 'what'>

const vip = readFileSync('tests/reference/vip/sample_feed_v5.2_places_only.xml', 'utf8')
const HEADER = ['Worker ID', 'First name', 'Last name', 'Birth date', 'E-mail', 'Phone', 'Miles']
const NAMES = ['Ana', 'Ben', 'Cleo', 'Dan', 'Eve', 'José', 'Zoë']

const rowsOf = (draw: Draw): string[][] =>
  Array.from({ length: 2 + draw.below(30) }, (_, i) => [
    String(1000 + i),
    draw.pick(NAMES),
    draw.pick(['Smith', 'Muñoz', 'O’Neill', 'Lee']),
    `${1 + draw.below(12)}/${1 + draw.below(28)}/${1940 + draw.below(60)}`,
    `p${i}@example.org`,
    `555-010-${String(draw.below(10_000)).padStart(4, '0')}`,
    String(1 + draw.below(60)),
  ])
const quote = (cell: string) => (/[",\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell)
const lines = (rows: string[][]) => [HEADER, ...rows].map((row) => row.map(quote).join(',')).join('\r\n')
const people = (bytes: string | Buffer, says: RegExp): Made => ({
  kind: 'people',
  bytes: Buffer.from(bytes),
  says,
})
const feed = (bytes: string | Buffer, says: RegExp): Made => ({
  kind: 'places',
  bytes: Buffer.from(bytes),
  says,
})

/** Files of the other kinds: header, and the cells of a good row. Whoever reads them knows the people 1000 to 1031 and
 *  the position Check-in. */
const OTHERS = {
  places: {
    header: ['Code', 'Name', 'Address', 'Latitude', 'Longitude', 'Kind', 'Registered voters'],
    row: (i: number) => [
      `P${i}`,
      `Hall ${i}`,
      `${i} Elm Street`,
      `42.${100 + i}`,
      `-91.${100 + i}`,
      'vote center',
      '900',
    ],
  },
  service: {
    header: ['Worker ID', 'Date', 'Position', 'Served'],
    row: (i: number) => [String(1000 + i), '11/5/2024', 'Check-in', 'yes'],
  },
  training: {
    header: ['Worker ID', 'Position', 'Training date', 'Trainer'],
    row: (i: number) => [String(1000 + i), 'Check-in', '3/4/2025', 'R. Hill'],
  },
  nominations: {
    header: ['Worker ID', 'Position', 'Rank', 'Party', 'List date'],
    row: (i: number) => [String(1000 + i), 'Check-in', String(i + 1), 'Maple', '5/1/2026'],
  },
} as const

/** A file of another kind with one cell of one row replaced. */
function other(draw: Draw, kind: keyof typeof OTHERS, column: number, value: string, says: RegExp): Made {
  const rows = Array.from({ length: 2 + draw.below(30) }, (_, i) => OTHERS[kind].row(i))
  rows[draw.below(rows.length)]![column] = value
  return {
    kind,
    says,
    bytes: Buffer.from([OTHERS[kind].header, ...rows].map((r) => r.map(quote).join(',')).join('\n')),
  }
}
/** The same with one of its columns under a name that nobody knows. */
function otherHeader(draw: Draw, kind: keyof typeof OTHERS, column: number): Made {
  const made = other(draw, kind, 0, OTHERS[kind].row(0)[0]!, /No column gives/)
  return {
    ...made,
    bytes: Buffer.from(made.bytes.toString().replace(OTHERS[kind].header[column]!, 'Colour')),
  }
}

/** The rows with one cell replaced. */
function spoiled(draw: Draw, column: number, value: string): string {
  const rows = rowsOf(draw)
  rows[draw.below(rows.length)]![column] = value
  return lines(rows)
}
/** The text with one of its lines changed by hand, not through the writer. */
function rawLine(draw: Draw, change: (line: string) => string): string {
  const all = lines(rowsOf(draw)).split('\r\n')
  const at = 1 + draw.below(all.length - 1)
  all[at] = change(all[at]!)
  return all.join('\r\n')
}

const MAKERS: Record<string, (draw: Draw) => Made | Promise<Made>> = {
  'quote never closed': (d) =>
    people(
      rawLine(d, (l) => l.replace(/,([^,]+),/, ',"$1,')),
      /never closed|closing quot/i,
    ),
  'text after a quote': (d) =>
    people(
      rawLine(d, (l) => l.replace(/,([^,]+),/, ',"$1"x,')),
      /closing quotation mark/,
    ),
  'quote inside a cell': (d) =>
    people(
      rawLine(d, (l) => l.replace(/,(\S)/, ',$1"')),
      /quotation mark/,
    ),
  'control characters': (d) =>
    people(
      rawLine(d, (l) => `${l.slice(0, 9)}\u0000${l.slice(9)}`),
      /control character/,
    ),
  'cut UTF-16': (d) =>
    people(
      Buffer.concat([Buffer.from([0xff, 0xfe]), Buffer.from(lines(rowsOf(d)), 'utf16le').subarray(0, -1)]),
      /UTF-16.*cut off/,
    ),
  'broken UTF-8 after its mark': (d) =>
    people(
      Buffer.concat([Buffer.from([0xef, 0xbb, 0xbf]), Buffer.from(lines(rowsOf(d))), Buffer.from([0xc3])]),
      /UTF-8/,
    ),
  'lost letters': (d) => people(spoiled(d, 2, 'Mu\uFFFDoz'), /Letters were lost/),
  'a day that no calendar has': (d) =>
    people(
      spoiled(d, 3, d.pick(['2/30/1950', '13/13/1960', '1950-00-10', 'yesterday', '31.12.50'])),
      /should be a year.*or a date/,
    ),
  'an impossible year': (d) =>
    people(spoiled(d, 3, d.pick(['1799', '2027', '19', '3000-01-01'])), /should be a year/),
  'a number twice': (d) => {
    const rows = rowsOf(d)
    rows[0]![0] = rows.at(-1)![0]!
    return people(lines(rows), /has the same number/)
  },
  'no number': (d) => people(spoiled(d, 0, ''), /Every row needs/),
  'a formula': (d) =>
    people(
      spoiled(d, d.pick([1, 2]), d.pick(['=1+2', '=cmd|"/c calc"!A1', '@SUM(A1)', '+A1', '-A1*2', '＝1'])),
      /formula/,
    ),
  'a huge field': (d) => people(spoiled(d, 2, 'x'.repeat(10_001 + d.below(50_000))), /10000 is the most/),
  'a long field': (d) => people(spoiled(d, 2, 'y'.repeat(300)), /300 characters; 100/),
  'a wrong e-mail': (d) =>
    people(spoiled(d, 4, d.pick(['nobody', 'a@b', 'a b@c.org', '@x.org'])), /e-mail address|formula/),
  'a wrong telephone number': (d) =>
    people(spoiled(d, 5, d.pick(['12', 'call me', '5'])), /telephone number/),
  'a wrong number': (d) =>
    people(spoiled(d, 6, d.pick(['far', '-3', '1e9', '99999', '12miles'])), /number from 0 to 600/),
  'too many cells': (d) =>
    people(
      rawLine(d, (l) => `${l},extra`),
      /more cells/,
    ),
  'a header twice': (d) => people(lines(rowsOf(d)).replace('E-mail', 'Phone'), /both named/),
  'a column without a name': (d) => people(lines(rowsOf(d)).replace('E-mail', ''), /has no name/),
  'a needed column away': (d) => people(lines(rowsOf(d)).replace('Worker ID', 'Colour'), /No column gives/),
  'nothing but a header': () => people(`${HEADER.join(',')}\r\n`, /no rows below/),
  'nothing at all': (d) => people(d.pick(['', ' \n \n']), /empty/),
  'too many columns': (d) =>
    people(
      Array.from({ length: 201 + d.below(50) }, (_, i) => `c${i}`)
        .join(',')
        .concat('\n1,2\n'),
      /200 is the most/,
    ),
  'a picture': (d) =>
    people(Buffer.from([0x89, 0x50, 0x4e, 0x47, 0, 1, 2, 3, d.below(256)]), /control character/),
  'a PDF': () => people('%PDF-1.7\n%âãÏÓ', /PDF/),
  'an old workbook': () =>
    people(Buffer.from([0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1]), /\.xls|password/),
  'a cut workbook': async (d) => {
    const whole = await zipOf(workbookFiles(sheetXml([HEADER, ...rowsOf(d)])))
    return people(whole.subarray(0, 30 + d.below(whole.length - 60)), /damaged or was cut off/)
  },
  'a dense workbook': async (d) =>
    people(
      await zipOf({
        ...workbookFiles(sheetXml([HEADER, ...rowsOf(d)])),
        'xl/media/x.bin': Buffer.alloc(2_000_000 + d.below(1000)),
      }),
      /harmful/,
    ),
  'a workbook that lies about its size': async (d) => {
    const whole = await zipOf({
      ...workbookFiles(sheetXml([HEADER, ...rowsOf(d)])),
      'xl/big.xml': `<a>${' '.repeat(100_000)}</a>`,
    })
    // The declared size (offset 24 of its central directory header) of the largest entry becomes 10.
    const at = whole.lastIndexOf('xl/big.xml') - 46
    whole.writeUInt32LE(10, at + 24)
    return people(whole, /damaged|harmful/)
  },
  'thousands of entries': async (d) =>
    people(
      await zipOf({
        ...workbookFiles(sheetXml([HEADER])),
        ...Object.fromEntries(Array.from({ length: 2001 + d.below(50) }, (_, i) => [`f${i}`, ''])),
      }),
      /harmful/,
    ),
  'a workbook with entities': async (d) =>
    people(
      await zipOf(
        workbookFiles(
          sheetXml([HEADER, ...rowsOf(d)]).replace(
            '<worksheet',
            '<!DOCTYPE w [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><worksheet',
          ),
        ),
      ),
      /document type/,
    ),
  'a cell at the end of the world': async (d) =>
    people(
      await zipOf(
        workbookFiles(
          sheetXml([HEADER, ...rowsOf(d)]).replace(
            '</sheetData>',
            '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>',
          ),
        ),
      ),
      /XFD1048576/,
    ),
  'a workbook with broken XML': async (d) =>
    people(await zipOf(workbookFiles(sheetXml([HEADER, ...rowsOf(d)]).slice(0, -20))), /damaged/),
  'an archive that is no workbook': async (d) =>
    people(await zipOf({ 'people.csv': lines(rowsOf(d)) }), /no Excel workbook/),
  'a feed with an outside entity': (d) =>
    feed(
      vip.replace(
        '<VipObject',
        `<!DOCTYPE VipObject [<!ENTITY x SYSTEM "${d.pick(['file:///etc/passwd', 'http://127.0.0.1/'])}">]>\n<VipObject`,
      ),
      /DOCTYPE/,
    ),
  'a billion laughs': () =>
    feed(
      '<?xml version="1.0"?>\n<!DOCTYPE l [<!ENTITY l "lol"><!ENTITY m "&l;&l;&l;&l;&l;&l;&l;&l;&l;&l;">]>\n<VipObject schemaVersion="5.2">&m;</VipObject>',
      /DOCTYPE/,
    ),
  'an entity that is not there': (d) =>
    feed(vip.replace('<City>', `<City>&${d.pick(['nbsp', 'eacute', 'x'])};`), /well-formed/),
  'a cut feed': (d) => feed(vip.slice(0, 400 + d.below(vip.length - 450)), /well-formed/),
  'a feed of another version': (d) =>
    feed(
      vip.replace('schemaVersion="5.2"', d.pick(['schemaVersion="3.0"', 'schemaVersion="6.0"', ''])),
      /schemaVersion|version 5\.2/,
    ),
  'another XML file': (d) =>
    feed(
      d.pick([
        '<rss version="2.0"></rss>',
        '<html><body>Sign in</body></html>',
        '<?xml version="1.0"?><VIP/>',
      ]),
      /VipObject/,
    ),
  'an id twice': (d) =>
    feed(vip.replace('id="pl81273"', `id="${d.pick(['pl81274', 'loc70001', 'hours0001'])}"`), /has the id/),
  'a reference to nothing': (d) =>
    feed(vip.replace('<LocalityId>loc70001', `<LocalityId>loc${d.below(60_000)}x`), /No object of the file/),
  'a part away': (d) =>
    feed(
      d.pick([
        vip.replace('<Name>Virginia</Name>', ''),
        vip.replace('<Date>2013-11-05</Date>', ''),
        vip.replace('<StartTime>07:00:00-04:00</StartTime>', ''),
      ]),
      /needs a/,
    ),
  'parts in the wrong order': () =>
    feed(
      vip.replace(
        '<Name>0000 - COUNTY-WIDE EARLY VOTING CENTER</Name>\n    <Number>0000</Number>',
        '<Number>0000</Number>\n    <Name>0000</Name>',
      ),
      /must stand before/,
    ),
  'a wrong value': (d) =>
    feed(
      d.pick([
        vip.replace('07:00:00-04:00', '7 o’clock'),
        vip.replace('<IsMailOnly>true', '<IsMailOnly>maybe'),
        vip.replace('<Date>2013-11-05', '<Date>11/5/2013'),
        vip.replace('<Latitude>38.009939', '<Latitude>north'),
      ]),
      /This should be/,
    ),
  'no source': () => feed(vip.replace(/<Source[\s\S]*?<\/Source>/, ''), /exactly one Source/),
  'letters of another set': () =>
    feed(Buffer.from(vip.replace('Hydraulic', 'Hydraulíc'), 'latin1'), /character set/),
  'a place nowhere': (d) => {
    const [column, value] = d.pick([
      [3, '91'],
      [3, '420.5'],
      [4, '-181'],
      [3, 'north'],
      [4, '91° W'],
      [4, '1e2'],
    ] as const)
    return other(d, 'places', column, value, /should be a number from/)
  },
  'half a point': (d) => other(d, 'places', d.pick([3, 4]), '', /both latitude and longitude/),
  'a place of no kind': (d) =>
    other(d, 'places', 5, d.pick(['castle', 'school', '?']), /Write polling place/),
  'voters that are no number': (d) =>
    other(d, 'places', 6, d.pick(['many', '-5', '12.5', '3000001', '9 00']), /whole number from 0/),
  'a place without a part': (d) => other(d, 'places', d.pick([0, 1, 2]), '', /Every row needs/),
  'a place with a formula': (d) =>
    other(d, 'places', d.pick([0, 1, 2]), d.pick(['=HYPERLINK("http://x")', '@A1', '+B2']), /formula/),
  'a place twice': (d) => {
    const rows = Array.from({ length: 3 + d.below(20) }, (_, i) => OTHERS.places.row(i))
    rows[1]![0] = rows[0]![0]!
    return {
      kind: 'places',
      says: /has the same code/,
      bytes: Buffer.from([OTHERS.places.header, ...rows].map((r) => r.join(',')).join('\n')),
    }
  },
  'a places file without a needed column': (d) => otherHeader(d, 'places', d.pick([0, 1, 2])),
  'service of a stranger': (d) =>
    other(d, 'service', 0, d.pick(['77', 'x', '1000a']), /nobody with this number/),
  'service without a part': (d) => other(d, 'service', d.pick([0, 1, 2]), '', /Every row needs/),
  'service on no day': (d) =>
    other(
      d,
      'service',
      1,
      d.pick(['2/30/2024', '13/5/2024', 'Tuesday', '2024', '11/5/24']),
      /no calendar date/,
    ),
  'service to come': (d) => other(d, 'service', 1, d.pick(['11/7/2028', '2099-01-01']), /in the future/),
  'service as a cook': (d) => other(d, 'service', 2, d.pick(['cook', 'Chek-in', '3']), /no such position/),
  'service that is neither yes nor no': (d) =>
    other(d, 'service', 3, d.pick(['maybe', '2', 'ja']), /yes or no/),
  'a service file without a needed column': (d) => otherHeader(d, 'service', d.pick([0, 1, 2])),
  'training that nobody vouches for': (d) => other(d, 'training', 3, '', /Every row needs who says so/),
  'training on no day': (d) =>
    other(d, 'training', 2, d.pick(['2/29/2025', '0/1/2025', 'spring']), /no calendar date/),
  'training to come': (d) => other(d, 'training', 2, '1/1/2031', /in the future/),
  'training of a stranger': (d) => other(d, 'training', 0, '77', /nobody with this number/),
  'a training file without a needed column': (d) => otherHeader(d, 'training', d.pick([0, 1, 2, 3])),
  'a stranger on a party list': (d) => other(d, 'nominations', 0, '77', /nobody with this number/),
  'a rank that is none': (d) =>
    other(d, 'nominations', 2, d.pick(['0', 'first', '1.5', '-1', '100001']), /whole number from 1/),
  'a rank twice': (d) => {
    const rows = Array.from({ length: 3 + d.below(20) }, (_, i) => OTHERS.nominations.row(i))
    rows[1]![2] = rows[0]![2]!
    return {
      kind: 'nominations',
      says: /has the same rank/,
      bytes: Buffer.from([OTHERS.nominations.header, ...rows].map((r) => r.join(',')).join('\n')),
    }
  },
  'a list of no party': (d) => other(d, 'nominations', 3, '', /which party/),
  'a list of no day': (d) => other(d, 'nominations', 4, d.pick(['5/32/2026', 'May']), /no calendar date/),
  'a party list without a needed column': (d) => otherHeader(d, 'nominations', d.pick([0, 1])),
  'coordinates off the earth': () =>
    feed(vip.replace('<Latitude>38.009939', '<Latitude>380.09939'), /nowhere on the earth/),
}

/** A file of each kind with nothing wrong. */
export const soundFiles = (): { kind: ImportKind; bytes: Buffer }[] => [
  { kind: 'people', bytes: Buffer.from(lines(rowsOf(seededRandom(1)))) },
  ...(Object.keys(OTHERS) as (keyof typeof OTHERS)[]).map((kind) => ({
    kind,
    bytes: other(seededRandom(1), kind, 0, OTHERS[kind].row(31)[0]!, /nothing/).bytes,
  })),
  { kind: 'places', bytes: Buffer.from(vip) },
]

export const MALFORMED_KINDS = Object.keys(MAKERS)

/** The `seed`th file: the kinds come round in turn, their details drawn. */
export async function malformedFile(seed: number): Promise<MalformedFile> {
  const what = MALFORMED_KINDS[seed % MALFORMED_KINDS.length]!
  return { seed, what, ...(await MAKERS[what]!(seededRandom(seed))) }
}
