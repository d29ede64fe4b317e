/** One solve of one county in this process: times, gaps, memory, and the answers that a prepared roster gives. */
import { loadavg } from 'node:os'
import { explainSeat } from '@/lib/roster/core/explain'
import { type Prepared, prepareRoster } from '@/lib/roster/core/prepared'
import { repair } from '@/lib/roster/core/repair'
import { solveRoster } from '@/lib/roster/core/solve'
import { repairMany } from '@/lib/roster/core/storm'
import { verifyRoster } from '@/lib/roster/core/verify'
import { loadMipSolver } from '@/lib/roster/mip'
import type { RosterResult } from '@/lib/roster/schema'
import { instanceOf } from './instances'

/** Seconds on the wall and of the processor (all threads). */
export interface Took {
  wall: number
  cpu: number
}

export interface Measured {
  name: string
  places: number
  people: number
  seed: number
  seats: number
  first: Took
  proven: Took
  /** Share of the wall time in each stage of the run. */
  stages: Record<string, number>
  gapSeats: number | null
  gapViolations: number | null
  /** At level 3, as a share of the cost. */
  gapCost: number
  /** Level 2 is closed or not: its gap is in violations. */
  violations: number
  metres: number
  closedBy: string
  megabytes: number
  checker: string
  /** Milliseconds: each call-out's, in order; the storm's; the slowest explanation's (null: no seat is empty). */
  callOuts: Took[]
  storm: Took
  explain: Took | null
  load: number
}

const clock = () => ({ wall: performance.now() / 1000, cpu: process.cpuUsage().user / 1e6 })
const since = (from: Took): Took => {
  const now = clock()
  return { wall: now.wall - from.wall, cpu: now.cpu - from.cpu }
}
function timed(act: () => unknown): Took {
  const from = clock()
  act()
  return since(from)
}

export function measure(name: string, seed: number): { measured: Measured; result: RosterResult } {
  const instance = instanceOf(name, seed)
  const start = clock()
  let first: Took | null = null
  const stages: Record<string, number> = {}
  let stage = 'reading'
  let entered = start.wall
  const result = solveRoster(instance, {
    seed,
    mip: loadMipSolver(),
    onProgress: (p) => {
      if (!first && p.filled !== null && p.stage !== 'least-cost') first = since(start)
      if (p.stage === stage) return
      stages[stage] = (stages[stage] ?? 0) + clock().wall - entered
      stage = p.stage
      entered = clock().wall
    },
  })
  const proven = since(start)
  for (const s of Object.keys(stages)) stages[s] = stages[s]! / proven.wall
  const megabytes = Math.round(process.resourceUsage().maxRSS / 1000)
  const verdict = verifyRoster(instance, result)
  const [one, two, three] = result.levels
  const prepared = prepareRoster(instance, result)
  const measured: Measured = {
    name,
    places: instance.places.length,
    people: instance.people.length,
    seed,
    seats: instance.seats.length,
    first: first ?? proven,
    proven,
    stages,
    gapSeats: one!.gap,
    gapViolations: two!.gap,
    gapCost: three!.gap ?? 1,
    violations: two!.value[0]!,
    metres: three!.value[0]!,
    closedBy: three!.closedBy,
    megabytes,
    checker: verdict.ok ? 'agrees' : `refuses: ${verdict.problems[0]!.message}`,
    ...answers(prepared, result),
    load: Math.round(loadavg()[0]!),
  }
  return { measured, result }
}

/** Call-outs spread over the county, a storm of 120 in one area, explanations of empty seats. */
function answers(prepared: Prepared, result: RosterResult): Pick<Measured, 'callOuts' | 'storm' | 'explain'> {
  const { model, instance } = prepared
  const step = Math.ceil(result.seatings.length / 60)
  const callers = result.seatings.filter((_, i) => i % step === Math.min(3, step - 1))
  const callOuts = callers.map((s) => timed(() => repair(prepared, { personId: s.personId })))
  const at = instance.places[model.crewPlace[model.seatCrew[0]!]!]!.at!
  const far = (seatId: string) => {
    const there = instance.places[model.crewPlace[model.seatCrew[model.seatIndex.get(seatId)!]!]!]!.at!
    return (there[0] - at[0]) ** 2 + (there[1] - at[1]) ** 2
  }
  const stormed = [...result.seatings].sort((a, b) => far(a.seatId) - far(b.seatId)).slice(0, 120)
  const ids = stormed.map((s) => s.personId)
  const storm = timed(() => repairMany(prepared, ids))
  const explained = result.empty.slice(0, 20).map((id) => timed(() => explainSeat(prepared, id)))
  explained.sort((a, b) => b.wall - a.wall)
  return { callOuts, storm, explain: explained[0] ?? null }
}
