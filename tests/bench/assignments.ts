/** `npm run bench -- assignments [NAME]…`: tables and generalised assignment problems of the published classes, made anew
 *  (tests/core/roster/assignment-classes.ts); a NAME such as `d-20x100` or `table-800x800`. One row an instance: value,
 *  bound and status of ours, then what HiGHS (WebAssembly) and Debian's CBC find on the same model, each in a process of
 *  its own. Seconds are of the processor, our own without reading the instance. Options: `--limit SECONDS` on the wall
 *  for each general solver (default 60; 0: leave them out); `--seeds 1,2`. */
import { execFileSync, spawn } from 'node:child_process'
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'
import { parseArgs } from 'node:util'
import highsLoader from 'highs'
import { solveDenseAssignment } from '@/lib/roster/core/dense-assignment'
import { solveGeneralisedAssignment } from '@/lib/roster/core/generalised-assignment'
import type { MipModel } from '@/lib/roster/core/mip-model'
import { dataOf } from '@/lib/roster/mip'
import { denseOf, type GapClass, gapOf } from '../core/roster/assignment-classes'
import { denseModelOf, gapModelOf } from '../core/roster/assignment-models'

interface Found {
  value: number | null
  bound: number | null
  status: string
  /** Of the processor. */
  seconds: number
}

const NAMES = [
  ...['100x100', '200x200', '400x400', '800x800', '400x800'].map((size) => `table-${size}`),
  ...['8x40', '8x48', '10x30', '10x40', '10x50', '10x60'].map((size) => `max-${size}`),
  ...['a', 'b', 'c', 'd', 'e'].flatMap((kind) =>
    ['5x100', '5x200', '10x100', '10x200', '20x100', '20x200'].map((size) => `${kind}-${size}`),
  ),
]

const { values: options, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    seeds: { type: 'string', default: '1' },
    limit: { type: 'string', default: '60' },
    part: { type: 'string' },
  },
})
const limit = Number(options.limit)

/** The instance of a name: how ours solves it, and its model. */
function instanceOf(
  name: string,
  seed: number,
): { solve: () => Omit<Found, 'seconds'>; model: () => MipModel } {
  const [kind = '', rows, columns] = name.split(/-|x(?=\d)/)
  if (kind === 'table') {
    const costs = denseOf(Number(rows), Number(columns), seed)
    const solve = () => {
      const { value } = solveDenseAssignment(costs)
      return { value, bound: value, status: 'optimal' }
    }
    return { solve, model: () => denseModelOf(costs, 'min') }
  }
  const problem = gapOf(kind as GapClass, Number(rows), Number(columns), seed)
  return { solve: () => solveGeneralisedAssignment(problem), model: () => gapModelOf(problem, true) }
}

const cpu = () => process.cpuUsage().user / 1e6

function runOwn(name: string, seed: number): Found {
  const { solve } = instanceOf(name, seed)
  const from = cpu()
  const { value, bound, status } = solve()
  return { value, bound, status, seconds: cpu() - from }
}

/** From nothing; values are whole, so a gap below one is none. */
async function runHighs(name: string, seed: number): Promise<Found> {
  const model = instanceOf(name, seed).model()
  const highs = await highsLoader()
  const { minimize, maximize } = highs.constants.objectiveSense
  const from = cpu()
  const sense = model.sense === 'min' ? minimize : maximize
  const problem = highs.createModel({ ...dataOf(model).data, sense })
  problem.options.set({ output_flag: false, mip_rel_gap: 0, mip_abs_gap: 0.999, time_limit: limit })
  problem.run()
  const linear = !model.whole.includes(true)
  const feasible = Number(problem.info.get('primal_solution_status')) === 2
  const value = feasible ? problem.getObjectiveValue() : null
  const bound = linear ? value : Number(problem.info.get('mip_dual_bound'))
  const closed = value !== null && bound !== null && Math.abs(value - bound) < 1 - 1e-6
  return { value, bound, status: closed ? 'optimal' : 'limit', seconds: cpu() - from }
}

/** From nothing; as least cost, so that signs in its words are clear. */
function runCbc(name: string, seed: number): Found {
  const { model: modelOf } = instanceOf(name, seed)
  const model = modelOf()
  const sign = model.sense === 'min' ? 1 : -1
  model.sense = 'min'
  for (let c = 0; c < model.cost.length; c++) model.cost[c] = sign * model.cost[c]!
  const folder = mkdtempSync(path.join(tmpdir(), 'bench-cbc-'))
  try {
    const file = path.join(folder, 'model.lp')
    writeFileSync(file, model.toLp())
    const words = [file, 'timemode', 'elapsed', 'ratio', '0', 'allow', '0.999', 'sec', String(limit), 'solve']
    const text = execFileSync('/usr/bin/cbc', words, {
      encoding: 'utf8',
      maxBuffer: 1e8,
      timeout: (limit + 120) * 1000,
      killSignal: 'SIGKILL',
    })
    const number = (pattern: RegExp) => {
      const found = pattern.exec(text)?.[1]
      return found === undefined ? null : Number(found)
    }
    const signed = (v: number | null) => (v === null ? null : sign * v)
    const optimal = /Optimal solution found|Optimal - objective value/.test(text)
    const none = /No feasible solution found/.test(text)
    const value = none ? null : number(/(?:Objective value:|Optimal - objective value)\s+(-?[\d.e+]+)/)
    const bound = optimal ? value : number(/Lower bound:\s+(-?[\d.e+]+)/)
    return {
      value: signed(value),
      bound: signed(bound),
      status: optimal ? 'optimal' : 'limit',
      seconds: number(/Total time \(CPU seconds\):\s+([\d.]+)/) ?? Number.NaN,
    }
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

/** What a part finds in a process of its own; null where it ends without an answer. */
function found(part: string, name: string, seed: string): Promise<Found | null> {
  const asked = ['--part', part, '--limit', String(limit), name, seed]
  const words = ['--import', 'tsx', import.meta.filename, ...asked]
  return new Promise((resolve) => {
    const child = spawn(process.execPath, words, { stdio: ['ignore', 'pipe', 'ignore'] })
    let text = ''
    child.stdout.on('data', (chunk) => {
      text += chunk
    })
    child.on('close', () => {
      const line = /^FOUND (.*)$/m.exec(text)?.[1]
      resolve(line === undefined ? null : (JSON.parse(line) as Found))
    })
  })
}

const round = (value: number) => Math.round(value * 100) / 100
function said(f: Found | null): string {
  if (!f) return limit > 0 ? 'no answer' : '–'
  if (f.value === null) return `${f.status}, ${f.seconds.toFixed(1)} s`
  const bound = f.status === 'optimal' ? '' : ` (bound ${f.bound === null ? 'none' : round(f.bound)})`
  return `${round(f.value)}${bound} ${f.status}, ${f.seconds.toFixed(1)} s`
}

/** How many times as long as ours another took to the same proof; `–` where one of them has none. */
function ratio(own: Found | null, other: Found | null): string {
  if (own?.status !== 'optimal' || other?.status !== 'optimal') return '–'
  if (Math.abs(other.value! - own.value!) > 1e-6) return 'VALUES DIFFER'
  return round(other.seconds / Math.max(0.01, own.seconds)).toString()
}

async function runAll(): Promise<void> {
  console.log('| instance | seed | ours | HiGHS | × | CBC | × |\n| --- | --- | --- | --- | --- | --- | --- |')
  for (const name of positionals.length > 0 ? positionals : NAMES)
    for (const seed of options.seeds.split(',')) {
      const own = await found('own', name, seed)
      const highs = limit > 0 ? await found('highs', name, seed) : null
      const cbc = limit > 0 && existsSync('/usr/bin/cbc') ? await found('cbc', name, seed) : null
      const cells = [name, seed, said(own), said(highs), ratio(own, highs), said(cbc), ratio(own, cbc)]
      console.log(`| ${cells.join(' | ')} |`)
    }
}

if (options.part) {
  const run = { own: runOwn, highs: runHighs, cbc: runCbc }[options.part]!
  console.log(`FOUND ${JSON.stringify(await run(positionals[0]!, Number(positionals[1])))}`)
} else await runAll()
