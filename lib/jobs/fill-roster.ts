import { listElectionDates, listFacts, listPolicies } from '@/lib/certification/queries'
import { db } from '@/lib/db/client'
import { env } from '@/lib/env'
import { systemClock } from '@/lib/kernel/clock'
import { civilDateAt } from '@/lib/kernel/dates'
import { claimRun, endRun, reportRun, writeRun } from '@/lib/roster/commands-run'
import { metresBetween } from '@/lib/roster/core/eligibility'
import type { SolveProgress } from '@/lib/roster/core/progress'
import { solveRoster } from '@/lib/roster/core/solve'
import { loadRosterGround, type RosterGround } from '@/lib/roster/facts'
import type { RunOutcome } from '@/lib/roster/outcome'
import { explainAndPlan, type PlanFound, type PlanInput } from '@/lib/roster/plan'
import { levelWords, statusWords } from '@/lib/roster/proof-words'
import type { RosterResult } from '@/lib/roster/schema'
import { log } from '@/lib/web/log'
import { runInThread } from './thread'

const BEAT_MS = 2000
const SOLVE = new URL('../roster/thread-entry.ts', import.meta.url)
const PLAN = new URL('./plan-entry.ts', import.meta.url)

/** Fills the seats of an election: reads, solves, explains, plans the training, writes. The heavy parts run in threads;
 *  this process only says every two seconds that it lives and looks whether somebody asked it to stop. Nothing of the
 *  roster changes before the last transaction. A second delivery of the same job does nothing. The hooks are for tests
 *  (starting two threads takes a second) and benches. */
export async function fillRoster(
  runId: string,
  hooks: {
    beforeWrite?: () => Promise<void>
    failInWrite?: () => void
    withoutThreads?: boolean
    solveEntry?: URL
    workLimit?: number
  } = {},
): Promise<void> {
  const run = await claimRun(runId)
  if (!run) return
  const abort = new AbortController()
  const progress = { stage: 'reading', share: 0.02 }
  const at = (stage: string, share: number) => Object.assign(progress, { stage, share })
  const beat = setInterval(() => {
    reportRun(runId, { ...progress })
      .then((goOn) => goOn || abort.abort())
      .catch((error: unknown) => log.warn({ err: error }, 'a roster run could not report'))
  }, BEAT_MS)
  const watch = stopwatch()
  try {
    const ground = await loadRosterGround(run.electionId)
    const load = watch()
    const result = hooks.withoutThreads
      ? solveRoster(ground.instance)
      : await runInThread<RosterResult, SolveProgress>(
          hooks.solveEntry ?? SOLVE,
          { instance: ground.instance, options: { workLimit: hooks.workLimit ?? env().ROSTER_WORK } },
          {
            signal: abort.signal,
            onProgress: (p) => at(p.stage === 'done' ? 'reasons' : p.stage, 0.05 + 0.6 * p.share),
          },
        )
    const solve = watch()
    if (abort.signal.aborted) return await endRun(runId, { status: 'cancelled' })
    at('reasons', 0.66)
    const input = await planInput(ground, result)
    const found = hooks.withoutThreads
      ? explainAndPlan(input)
      : await runInThread<PlanFound, number>(
          PLAN,
          { input },
          {
            signal: abort.signal,
            onProgress: (share) => at(share < 0.3 ? 'reasons' : 'training', 0.66 + 0.3 * share),
          },
        )
    const plan = watch()
    at('writing', 0.97)
    await hooks.beforeWrite?.()
    const verdict = await writeRun(
      runId,
      ground,
      result,
      (written) =>
        outcomeOf(ground, result, found, input.positions, written, { load, solve, plan, write: watch() }),
      hooks.failInWrite,
    )
    if (verdict === 'roster-changed')
      await endRun(runId, {
        status: 'failed',
        failure:
          'Somebody changed the roster while the run was under way, so its result was not written. The roster is as they left it. Start the run again.',
      })
    else if (verdict === 'stopped') await endRun(runId, { status: 'cancelled' })
  } catch (error) {
    if (abort.signal.aborted) return await endRun(runId, { status: 'cancelled' })
    log.error({ runId, err: error }, 'a roster run failed')
    await endRun(runId, {
      status: 'failed',
      failure: `The run failed and nothing was changed. Start it again; if it goes on, tell your administrator this number: ${runId.slice(0, 8)}`,
    })
  } finally {
    clearInterval(beat)
  }
}

/** Seconds since the call before. */
function stopwatch(): () => number {
  let last = performance.now()
  return () => {
    const now = performance.now()
    const seconds = (now - last) / 1000
    last = now
    return Math.round(seconds * 100) / 100
  }
}

async function planInput(ground: RosterGround, result: RosterResult): Promise<PlanInput> {
  const { countyId } = ground
  const [county, positions, policies, facts, elections, people] = await Promise.all([
    db().county.findUniqueOrThrow({ where: { id: countyId }, select: { timeZone: true } }),
    db().position.findMany({ where: { countyId }, orderBy: { rank: 'asc' } }),
    listPolicies(db(), countyId),
    listFacts(db(), countyId),
    listElectionDates(db(), countyId),
    db().pollWorker.findMany({
      where: { countyId, active: true, wantsPositionKey: { not: null } },
      select: { id: true, wantsPositionKey: true },
    }),
  ])
  const certificateOf = new Map(positions.map((p) => [p.key, p.certificateKey]))
  return {
    instance: ground.instance,
    seatings: result.seatings,
    today: civilDateAt(systemClock.now(), county.timeZone),
    heldOn: ground.heldOn,
    policies: [...policies],
    facts: [...facts],
    elections,
    wishes: people.flatMap((p) => {
      const certificate = certificateOf.get(p.wantsPositionKey as string)
      return certificate ? [[p.id, certificate] as [string, string]] : []
    }),
    positions: positions.map((p) => ({ key: p.key, name: p.nameEn, certificateKey: p.certificateKey })),
  }
}

function outcomeOf(
  ground: RosterGround,
  result: RosterResult,
  found: PlanFound,
  positions: PlanInput['positions'],
  written: { rosterId: string; revision: number; overParty: number },
  seconds: RunOutcome['seconds'],
): RunOutcome {
  const { instance } = ground
  const people = new Map(instance.people.map((p) => [p.id, p]))
  const places = new Map(instance.places.map((p) => [p.id, p]))
  const seats = new Map(instance.seats.map((s) => [s.id, s]))
  const empty = new Set(result.empty)
  const metres = result.seatings.reduce(
    (sum, s) => sum + metresBetween(people.get(s.personId)!.at, places.get(seats.get(s.seatId)!.placeId)!.at),
    0,
  )
  return {
    ...written,
    status: result.status,
    seats: instance.seats.length,
    filled: instance.seats.length - empty.size,
    locked: new Set(instance.locks.map((l) => l.seatId)).size,
    byPosition: positions.map(({ key }) => {
      const own = instance.seats.filter((s) => s.position === key)
      return { key, seats: own.length, filled: own.filter((s) => !empty.has(s.id)).length }
    }),
    travelKm: Math.round(metres / 100) / 10,
    proof: result.levels.flatMap(proofWords),
    levels: [
      { title: 'The whole roster', proven: result.status === 'optimal', sentence: statusWords(result) },
      ...levelWords(result, instance.costs.notReturning + instance.costs.change > 0),
    ],
    empty: found.empty,
    training: found.training,
    filledWithTraining: found.filledWithTraining,
    violations: found.violations,
    notes: found.notes,
    seconds,
  }
}

function proofWords(level: RosterResult['levels'][number]): string[] {
  if (level.name === 'violations') return []
  if (level.name === 'seats')
    return [
      level.gap === 0
        ? 'No roster fills more seats, position by position in their order: this is proven.'
        : `Whether more seats could be filled is not proven${level.gap === null ? '' : ` (at most ${level.gap} more)`}.`,
    ]
  return [
    level.gap === 0
      ? 'No roster that fills as many has less travel: this is proven.'
      : level.gap === null
        ? 'That no roster has less travel is not proven.'
        : `The travel is at most ${(level.gap * 100).toFixed(1)} % above the least possible.`,
  ]
}
