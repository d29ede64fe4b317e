/** `npm run bench -- loop [PLACES PEOPLE]`: the roster of a generated county (default 300 places, 3,000 people) runs as
 *  the job does, in a database of its own, while a clerk's board is read again and again. Prints the time of each stage
 *  and how long the reads took meanwhile, beside the same reads before the run. */
import { randomUUID } from 'node:crypto'
import { rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'
import { runMigrations } from 'graphile-worker'
import type { Actor } from '@/lib/auth/actor'
import { closeDb, db } from '@/lib/db/client'
import { startCluster } from '@/lib/db/embedded'
import { setEnv } from '@/lib/env'
import { fillRoster } from '@/lib/jobs/fill-roster'
import { requestRosterRun } from '@/lib/roster/commands-run'
import { getBoard, getRuns } from '@/lib/roster/queries'
import { deploy } from '@/prisma/migrate'
import { generateAnySize } from '@/prisma/seed/generate'
import { DEMO_STATE } from '@/prisma/seed/larkmoor'
import { writeCounty } from '@/prisma/seed/write'

const places = Number(process.argv[2] ?? 300)
const people = Number(process.argv[3] ?? 3000)
const folder = path.join(tmpdir(), `readiness-bench-${randomUUID()}`)
const seconds = (from: number) => ((performance.now() - from) / 1000).toFixed(2)
const line = (name: string, value: string) => console.log(name.padEnd(46), value.padStart(12))

const percentile = (times: number[], share: number): string => {
  const sorted = [...times].sort((a, b) => a - b)
  return sorted.length === 0 ? '—' : `${Math.round(sorted[Math.floor((sorted.length - 1) * share)]!)} ms`
}

const cluster = await startCluster(folder, { port: 0 })
try {
  setEnv({
    DATABASE_URL: cluster.url,
    SECRET: 'a secret for the bench only, forty characters',
    POOL_SIZE: '8',
  })
  await deploy(cluster.url)
  await runMigrations({ connectionString: cluster.url })
  let from = performance.now()
  const county = generateAnySize({ places, people, seed: 'bench-loop' })
  line('generate, s', seconds(from))
  from = performance.now()
  await db().$transaction(
    async (tx) => {
      await tx.state.create({ data: DEMO_STATE })
      await writeCounty(tx, county, { at: new Date() })
    },
    { timeout: 600_000 },
  )
  line('write the county, s', seconds(from))
  await db().$executeRawUnsafe('ANALYZE')

  const countyId = county.county.id
  const electionId = county.elections[1].id
  const clerk: Actor = {
    accountId: randomUUID(),
    signInId: randomUUID(),
    name: 'Bench',
    locale: 'en',
    pollWorkerId: null,
    sharedTablet: false,
    grants: [{ access: 'countyStaff', countyId }],
  }
  const readBoard = async (times: number[]) => {
    const start = performance.now()
    await getBoard(clerk, countyId, electionId, { show: 'empty' })
    times.push(performance.now() - start)
  }
  const before: number[] = []
  for (let i = 0; i < 25; i++) await readBoard(before)

  const { runId } = await requestRosterRun(clerk, { electionId })
  const meanwhile: number[] = []
  let over = false
  const reader = (async () => {
    while (!over) {
      await readBoard(meanwhile)
      await new Promise((resolve) => setTimeout(resolve, 50))
    }
  })()
  from = performance.now()
  await fillRoster(runId)
  const whole = seconds(from)
  over = true
  await reader

  const { newest } = await getRuns(electionId)
  const outcome = newest?.outcome
  if (!outcome) throw new Error(`the run ended as ${newest?.status}: ${newest?.failure}`)
  line('run: read people, seats, certificates, s', outcome.seconds.load.toFixed(2))
  line('run: solve, s', outcome.seconds.solve.toFixed(2))
  line('run: reasons and training list, s', outcome.seconds.plan.toFixed(2))
  line('run: write, s', outcome.seconds.write.toFixed(2))
  line('run: whole, s', whole)
  line('seats filled', `${outcome.filled}/${outcome.seats}`)
  line('trainings, then filled', `${outcome.training.length} → ${outcome.filledWithTraining}`)
  for (const sentence of [...outcome.proof, ...outcome.notes]) console.log(`  ${sentence}`)
  line('board before the run: median', percentile(before, 0.5))
  line('board before the run: 95th percentile', percentile(before, 0.95))
  line(`board while it ran (${meanwhile.length} reads): median`, percentile(meanwhile, 0.5))
  line('board while it ran: 95th percentile', percentile(meanwhile, 0.95))
  const { loadavg } = await import('node:os')
  line('load of the machine at the end', loadavg()[0]!.toFixed(1))
} finally {
  await closeDb()
  await cluster.stop()
  rmSync(folder, { recursive: true, force: true })
}
process.exit(0)
