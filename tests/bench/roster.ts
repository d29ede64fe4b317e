/** `npm run bench -- roster [PLACES/PEOPLE | PLACES/PEOPLE/PERCENT with half a day | dane | maricopa]…`: solves invented
 *  counties and counties with the real coordinates in tests/reference/places, each in a process of its own, and prints one
 *  table, each row when it is done: time to the first full roster and to the proven gap, gap of each level, what the
 *  checker says, memory; the same model of level 3 given to HiGHS (WebAssembly) and to Debian's CBC; call-outs, a storm of
 *  them, explanations.
 *  Options: `--seeds 1,2,3`; `--limit SECONDS` for each general solver (default 60, and 120 from 700 places on, there
 *  for seed 1 only; 0: leave them out); `--into FILE` keeps each row and leaves out those that it holds already. */
import { spawn } from 'node:child_process'
import { appendFileSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'
import { parseArgs } from 'node:util'
import type { RosterResult } from '@/lib/roster/schema'
import { runCbc, runHighs } from './roster/general'
import { instanceOf } from './roster/instances'
import { type Measured, measure, type Took } from './roster/measure'

interface Row extends Measured {
  highs: string
  cbc: string
}

const SIZES = ['40/400', '300/3000', '1200/12000', 'dane', 'maricopa', '4500/30000']
/** Aims by places (up to): seconds to the first roster and to the proof, and the gap at level 3. */
const AIMS = [
  { places: 40, first: 1, proven: 10, gap: 0 },
  { places: 300, first: 3, proven: 120, gap: 0.01 },
  { places: 1200, first: 10, proven: 300, gap: 0.03 },
  { places: 4500, first: 60, proven: 600, gap: 0.05 },
]
const MOST_MEGABYTES = 3000
const LARGE = 700
const NOT_TRIED = 4000

const { values: options, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    seeds: { type: 'string', default: '1,2,3' },
    limit: { type: 'string' },
    into: { type: 'string' },
    part: { type: 'string' },
  },
})
/** One part of a row, in this process: what it found goes out as the last line. */
async function runPart(part: string, words: string[]): Promise<void> {
  const [name, seed, file, limit] = words as [string, string, string, string]
  const found = async () => {
    if (part === 'own') {
      const { measured, result } = measure(name, Number(seed))
      writeFileSync(file, JSON.stringify(result))
      return measured
    }
    const result = JSON.parse(readFileSync(file, 'utf8')) as RosterResult
    const solve = part === 'highs' ? runHighs : runCbc
    return solve(instanceOf(name, Number(seed)), result, Number(limit))
  }
  console.log(`FOUND ${JSON.stringify(await found())}`)
}

async function runAll(): Promise<void> {
  const folder = mkdtempSync(path.join(tmpdir(), 'bench-roster-'))
  const kept = options.into && existsSync(options.into) ? readFileSync(options.into, 'utf8') : ''
  const rows: Row[] = kept
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => JSON.parse(line))
  console.log(HEAD)
  for (const name of positionals.length > 0 ? positionals : SIZES)
    for (const seed of options.seeds.split(',').map(Number)) {
      let row = rows.find((r) => r.name === name && r.seed === seed)
      if (!row) {
        const found = await rowOf(name, seed, path.join(folder, 'result.json'))
        if (typeof found === 'string') {
          console.log(`| ${name} | ${seed} | ${found} |`)
          continue
        }
        row = found
        rows.push(row)
        if (options.into) appendFileSync(options.into, `${JSON.stringify(row)}\n`)
      }
      console.log(lineOf(row))
    }
  rmSync(folder, { recursive: true })
  const notes = rows.flatMap(notesOf)
  console.log(notes.length === 0 ? '\nEvery aim is met.' : `\nAims not met:\n${notes.join('\n')}`)
}

/** A row, or what kept it from being made. */
async function rowOf(name: string, seed: number, file: string): Promise<Row | string> {
  const own = await partOf('own', [name, String(seed), file])
  if (typeof own === 'string') return own
  const measured = own as unknown as Measured
  const general = async (part: string) => {
    const tried = measured.places < LARGE || (seed === 1 && measured.places < NOT_TRIED)
    const limit = options.limit ?? (measured.places < LARGE ? '60' : '120')
    if (!tried || limit === '0') return 'not attempted'
    const found = await partOf(part, [name, String(seed), file, limit])
    return typeof found === 'string' ? found : found.toString()
  }
  return { ...measured, highs: await general('highs'), cbc: await general('cbc') }
}

/** Runs a part in a process of its own; a string from it, or about it when it died. */
function partOf(part: string, words: string[]): Promise<object | string> {
  const from = performance.now()
  return new Promise((resolve) => {
    const child = spawn(
      process.execPath,
      ['--max-old-space-size=3000', '--import', 'tsx', import.meta.filename, '--part', part, ...words],
      { stdio: ['ignore', 'pipe', 'inherit'] },
    )
    let text = ''
    child.stdout.on('data', (piece: Buffer) => {
      text += piece
    })
    child.on('close', (code, signal) => {
      const line = text.split('\n').findLast((l) => l.startsWith('FOUND '))
      const seconds = ((performance.now() - from) / 1000).toFixed(0)
      resolve(line ? JSON.parse(line.slice(6)) : `process died (${signal ?? code}) after ${seconds} s`)
    })
  })
}

const COLUMNS: [title: string, of: (row: Row) => string][] = [
  ['size', (r) => `${r.name.includes('/') ? '' : `${r.name} `}${r.places}/${r.people}`],
  ['seed', (r) => String(r.seed)],
  ['seats', (r) => String(r.seats)],
  ['first, s (CPU)', (r) => secondsOf(r.first)],
  ['proven, s (CPU)', (r) => secondsOf(r.proven)],
  ['gap 1', (r) => String(r.gapSeats ?? 'open')],
  ['gap 2', (r) => `${r.gapViolations ?? 'open'} of ${r.violations}`],
  ['gap 3', (r) => `${(100 * r.gapCost).toFixed(2)} % ${r.closedBy}`],
  ['metres', (r) => String(r.metres)],
  ['MB', (r) => String(r.megabytes)],
  ['checker', (r) => r.checker],
  ['HiGHS', (r) => r.highs],
  ['CBC', (r) => r.cbc],
  ['call-out ms p50 / p95 / most (CPU)', callOutsOf],
  ['storm of 120, s (CPU)', (r) => secondsOf(r.storm)],
  ['explain, ms (CPU)', (r) => (r.explain ? millisOf(r.explain) : 'none empty')],
  ['load', (r) => String(r.load)],
]
const HEAD = `| ${COLUMNS.map(([title]) => title).join(' | ')} |\n|${COLUMNS.map(() => ' --- ').join('|')}|`
const lineOf = (row: Row) => `| ${COLUMNS.map(([, of]) => of(row)).join(' | ')} |`

function secondsOf(t: Took): string {
  const digits = t.wall < 10 ? 2 : 1
  return `${t.wall.toFixed(digits)} (${t.cpu.toFixed(digits)})`
}

function millisOf(t: Took): string {
  return `${(1000 * t.wall).toFixed(1)} (${(1000 * t.cpu).toFixed(1)})`
}

/** The value that a share of all is at most: the nearest rank. */
function rank(values: number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b)
  return sorted[Math.max(0, Math.ceil(share * sorted.length) - 1)] ?? Number.NaN
}

function callOutsOf(row: Row): string {
  const of = (key: keyof Took) =>
    [0.5, 0.95, 1].map((share) =>
      (
        1000 *
        rank(
          row.callOuts.map((t) => t[key]),
          share,
        )
      ).toFixed(1),
    )
  return `${of('wall').join(' / ')} (${of('cpu').join(' / ')})`
}

/** A line for each aim that a row misses, with what the figures say of the cause. */
function notesOf(row: Row): string[] {
  const aim = AIMS.find((a) => row.places <= a.places)
  if (!aim) return []
  const notes: string[] = []
  const shared = (t: Took, most: number) =>
    t.cpu <= most
      ? `its own work is ${t.cpu.toFixed(1)} s of CPU, within the aim: the machine was shared (load ${row.load})`
      : `${t.cpu.toFixed(1)} s of CPU; most of the time goes into ${slowest(row)}`
  const slow = (what: string, t: Took, most: number) => {
    if (t.wall > most) notes.push(`${what} after ${t.wall.toFixed(1)} s, not ${most} s: ${shared(t, most)}`)
  }
  slow('first roster', row.first, aim.first)
  slow('proof', row.proven, aim.proven)
  if (row.gapSeats !== 0) notes.push(`level 1 is open by ${row.gapSeats} seats`)
  if (row.gapCost > aim.gap)
    notes.push(
      `gap ${(100 * row.gapCost).toFixed(2)} % at level 3, not ${100 * aim.gap} %, with level 2 open by ${row.gapViolations ?? 'an unknown number'}; most of the time goes into ${slowest(row)}`,
    )
  if (row.megabytes > MOST_MEGABYTES) notes.push(`${row.megabytes} MB`)
  if (row.checker !== 'agrees') notes.push(`the checker ${row.checker}`)
  const callOut = row.callOuts.reduce((a, b) => (a.wall > b.wall ? a : b))
  if (callOut.wall > 0.05)
    notes.push(
      `the slowest of ${row.callOuts.length} call-outs took ${(1000 * callOut.wall).toFixed(0)} ms (${(1000 * callOut.cpu).toFixed(0)} ms of CPU, load ${row.load}), not 50 ms`,
    )
  slow('storm', row.storm, 5)
  if (row.explain) slow('an explanation', row.explain, 0.1)
  return notes.map((note) => `- ${row.name} seed ${row.seed}: ${note}`)
}

const slowest = (row: Row) =>
  Object.entries(row.stages)
    .sort(([, a], [, b]) => b - a)
    .slice(0, 2)
    .map(([stage, share]) => `'${stage}' (${(100 * share).toFixed(0)} %)`)
    .join(' and ')

if (options.part) await runPart(options.part, positionals)
else await runAll()
