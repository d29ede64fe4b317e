/** `npm run bench -- roster [PLACES/PEOPLE | dane | maricopa]…`: solves invented counties and counties with the real
 *  coordinates in tests/reference/places, each in a process of its own, and prints one table a run: time to the first
 *  full roster and to the end, gap of each level, what the checker says, call-outs, memory. In the same run the model of
 *  level 3 (every arc; seats filled and violations fixed at the values found) goes to HiGHS (WebAssembly) and to Debian's
 *  CBC. BENCH_SEEDS (3), BENCH_LIMIT: seconds for each general solver (120; 0 leaves them out). */
import { execFileSync, spawnSync } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { loadavg, tmpdir } from 'node:os'
import path from 'node:path'
import highsLoader from 'highs'
import { explainSeat } from '@/lib/roster/core/explain'
import { buildRosterMip, type RosterMip } from '@/lib/roster/core/mip-roster'
import { type Prepared, prepareRoster } from '@/lib/roster/core/prepared'
import { repair, repairMany } from '@/lib/roster/core/repair'
import { solveRoster } from '@/lib/roster/core/solve'
import { verifyRoster } from '@/lib/roster/core/verify'
import { dataOf, loadMipSolver } from '@/lib/roster/mip'
import type { RosterInstance, RosterResult } from '@/lib/roster/schema'
import { county } from '../core/roster/county'

const LIMIT = Number(process.env.BENCH_LIMIT ?? 120)
/** Beyond this many arcs a general solver isn't tried: reading the model alone takes minutes. */
const MOST_ARCS = 2_500_000
type Row = Record<string, string | number>

const [first, seedText] = process.argv.slice(2)
if (first === '--one') {
  const [, , , name, seed] = process.argv
  await row(name!, Number(seed))
} else {
  const names = [first, seedText, ...process.argv.slice(4)].filter((x) => x !== undefined)
  const rows: Row[] = []
  for (const name of names.length > 0 ? names : ['40/400', '300/3000', 'dane', '1200/12000'])
    for (let seed = 1; seed <= Number(process.env.BENCH_SEEDS ?? 3); seed++) {
      const child = spawnSync(
        process.execPath,
        ['--max-old-space-size=3000', '--import', 'tsx', import.meta.filename, '--one', name, String(seed)],
        { encoding: 'utf8', maxBuffer: 1e8, stdio: ['ignore', 'pipe', 'inherit'] },
      )
      // The last one: a general solver that takes the process down leaves the row without it.
      const line = child.stdout.split('\n').findLast((l) => l.startsWith('ROW '))
      const found = line
        ? (JSON.parse(line.slice(4)) as Row)
        : { size: name, seed, failed: `code ${child.status}` }
      console.log(JSON.stringify(found))
      rows.push(found)
    }
  console.table(rows)
}

/** Coordinates of real polling places or precincts, each once. */
function realPlaces(file: string): [number, number][] {
  const [head, ...lines] = readFileSync(path.join(import.meta.dirname, '../reference/places', file), 'utf8')
    .trim()
    .split(/\r?\n/)
  const columns = head!.split(',').length
  const at = head!.split(',').indexOf('lat')
  const seen = new Map<string, [number, number]>()
  for (const line of lines) {
    // Counted from the end: quoted names before may hold commas.
    const cells = line.split(',')
    const [lat, lon] = [at, at + 1].map((i) => Number(cells[cells.length - columns + i]))
    seen.set(`${lat},${lon}`, [lat!, lon!])
  }
  return [...seen.values()]
}

function instanceOf(name: string, seed: number): RosterInstance {
  const files: Record<string, string> = {
    dane: 'mid_Dane_WI_polling_places_2016_latlon.csv',
    maricopa: 'very_large_Maricopa_AZ_precinct_centroids.csv',
  }
  const coordinates = files[name] ? realPlaces(files[name]) : undefined
  const [places, people] = coordinates
    ? [coordinates.length, 10 * coordinates.length]
    : (name.split('/').map(Number) as [number, number])
  // Large counties limit travel, as real ones do; it keeps the arcs few.
  const maxTravelKm = places >= 700 ? 12 : places >= 200 ? 25 : null
  return county({ places, people, seed, maxTravelKm, ...(coordinates ? { coordinates } : {}) })
}

async function row(name: string, seed: number): Promise<void> {
  const instance = instanceOf(name, seed)
  const mip = await loadMipSolver()
  const start = performance.now()
  const cpu = process.cpuUsage().user
  let firstMs = 0
  const result = solveRoster(instance, {
    seed,
    mip,
    onProgress: (p) => {
      if (firstMs === 0 && p.filled !== null && p.stage !== 'least-cost') firstMs = performance.now() - start
    },
  })
  const seconds = (performance.now() - start) / 1000
  const cpuSeconds = (process.cpuUsage().user - cpu) / 1e6
  const megabytes = Math.round(process.resourceUsage().maxRSS / 1000)
  const verdict = verifyRoster(instance, result)
  const [one, two, three] = result.levels
  const prepared = prepareRoster(instance, result)
  const own: Row = {
    size: `${name}${name.includes('/') ? '' : ` ${instance.places.length}/${instance.people.length}`}`,
    seed,
    seats: instance.seats.length,
    'first, s': (firstMs / 1000).toFixed(2),
    'all, s': seconds.toFixed(1),
    'CPU, s': cpuSeconds.toFixed(1),
    'gap 1, seats': one!.gap ?? '-',
    'gap 2': two!.gap ?? '-',
    'gap 3': `${(100 * (three!.gap ?? 1)).toFixed(2)} % ${three!.closedBy}`,
    metres: three!.value[0]!,
    'MB most': megabytes,
    checker: verdict.ok ? 'agrees' : `refuses: ${verdict.problems[0]!.message}`,
    ...answers(prepared, result),
    load: loadavg()[0]!.toFixed(0),
  }
  console.log(`ROW ${JSON.stringify(own)}`)
  console.log(`ROW ${JSON.stringify({ ...own, ...(await generalSolvers(prepared, result)) })}`)
}

/** Median of one call-out, a storm of 120 in one area, the slowest explanation. */
function answers(prepared: Prepared, result: RosterResult): Row {
  const { model, instance } = prepared
  const timed = (act: () => unknown) => {
    const from = performance.now()
    act()
    return performance.now() - from
  }
  const people = result.seatings.filter((_, i) => i % Math.ceil(result.seatings.length / 25) === 3)
  const calls = people.map((s) => timed(() => repair(prepared, { personId: s.personId })))
  const centre = model.crewPlace[model.seatCrew[0]!]!
  const at = instance.places[centre]!.at!
  const far = (seatId: string) => {
    const there = instance.places[model.crewPlace[model.seatCrew[model.seatIndex.get(seatId)!]!]!]!.at!
    return (there[0] - at[0]) ** 2 + (there[1] - at[1]) ** 2
  }
  const stormed = [...result.seatings].sort((a, b) => far(a.seatId) - far(b.seatId)).slice(0, 120)
  const storm = timed(() =>
    repairMany(
      prepared,
      stormed.map((s) => s.personId),
    ),
  )
  const empty = result.empty.slice(0, 20)
  const explained = empty.map((id) => timed(() => explainSeat(prepared, id)))
  const middle = (xs: number[]) => [...xs].sort((a, b) => a - b)[Math.floor(xs.length / 2)]
  return {
    'call-out, ms': `${middle(calls)?.toFixed(1)} (most ${Math.max(...calls).toFixed(0)})`,
    'storm of 120, s': (storm / 1000).toFixed(2),
    'explain, ms': explained.length > 0 ? Math.max(...explained).toFixed(1) : 'none empty',
  }
}

async function generalSolvers(prepared: Prepared, result: RosterResult): Promise<Row> {
  if (LIMIT === 0) return {}
  const { model, state } = prepared
  if (model.arcUnit.length > MOST_ARCS) return { HiGHS: 'not attempted', CBC: 'not attempted' }
  const options = { filled: result.levels[0]!.value, violations: state.violations(), state }
  const built = buildRosterMip(model, options)
  return {
    columns: built.mip.cost.length,
    HiGHS: await runHighs(built),
    CBC: runCbc(built),
  }
}

async function runHighs(built: RosterMip): Promise<string> {
  const from = performance.now()
  const took = () => `${((performance.now() - from) / 1000).toFixed(0)} s`
  try {
    const highs = await highsLoader()
    const problem = highs.createModel(dataOf(built.mip, highs.constants.objectiveSense))
    problem.options.set({ output_flag: false, mip_rel_gap: 0, mip_abs_gap: 0.999, time_limit: LIMIT })
    problem.run()
    const value =
      Number(problem.info.get('primal_solution_status')) === 2 ? problem.getObjectiveValue() : null
    const bound = Number(problem.info.get('mip_dual_bound'))
    return said(value, bound, built.constant, took())
  } catch (error) {
    return `failed after ${took()}: ${(error as Error).message.slice(0, 40)}`
  }
}

function runCbc(built: RosterMip): string {
  if (!existsSync('/usr/bin/cbc')) return 'not installed'
  const folder = mkdtempSync(path.join(tmpdir(), 'bench-cbc-'))
  const file = path.join(folder, 'model.lp')
  writeFileSync(file, built.mip.toLp())
  const from = performance.now()
  const took = () => `${((performance.now() - from) / 1000).toFixed(0)} s`
  try {
    const text = execFileSync(
      '/usr/bin/cbc',
      [file, 'timemode', 'elapsed', 'ratio', '0', 'allow', '0.999', 'sec', String(LIMIT), 'solve'],
      { encoding: 'utf8', maxBuffer: 1e8, timeout: (LIMIT + 120) * 1000, killSignal: 'SIGKILL' },
    )
    const number = (pattern: RegExp) => {
      const found = pattern.exec(text)?.[1]
      return found === undefined ? null : Number(found)
    }
    const value = /No feasible solution found/.test(text) ? null : number(/Objective value:\s+([\d.e+]+)/)
    const bound = /Optimal solution found/.test(text) ? value : number(/Lower bound:\s+([\d.e+]+)/)
    return said(
      value,
      bound ?? number(/Continuous objective value is ([\d.e+]+)/) ?? 0,
      built.constant,
      took(),
    )
  } catch {
    return `ended without an answer after ${took()}`
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

function said(value: number | null, bound: number, constant: number, took: string): string {
  if (value === null) return `no roster, bound ${Math.round(bound + constant)}, ${took}`
  const gap = (value - bound) / (value + constant)
  return `${Math.round(value + constant)}, gap ${(100 * gap).toFixed(2)} %, ${took}`
}
