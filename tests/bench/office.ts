/** `npm run bench -- office [PLACES PEOPLE [TIMES [WORDS [SECONDS [EFFORT]]]]]` (default 4,500 places, 30,000 people, 60 times
 *  each; only what has WORDS in its name): the seconds of each step from an empty county to offers and papers (left out with
 *  WORDS; SECONDS limits the roster's run and the papers, default 900; EFFORT is the optimiser's: 0, the default, seats people
 *  at the least cost and stops there, 1 is what the product does and takes ten minutes at 4,500 places), then how long the office's reads take on the server in a generated
 *  county, in a database of its own; beside each the ratio to a bare `SELECT 1` of the same run. To add one: another
 *  line in `works`. */
import { randomUUID } from 'node:crypto'
import { rmSync } from 'node:fs'
import os from 'node:os'
import path from 'node:path'
import { runMigrations } from 'graphile-worker'
import type { Actor } from '@/lib/auth/actor'
import { loadPolicyTemplates } from '@/lib/certification/content'
import { previewRule } from '@/lib/certification/queries-rules'
import type { RuleSet } from '@/lib/certification/schema'
import { closeDb, db } from '@/lib/db/client'
import { startCluster } from '@/lib/db/embedded'
import { setEnv } from '@/lib/env'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import type { PeopleFilter } from '@/lib/people/filter'
import { listParties, listPeople, listSavedViews } from '@/lib/people/queries-list'
import { previewTogether } from '@/lib/people/queries-together'
import { deploy } from '@/prisma/migrate'
import { generateAnySize } from '@/prisma/seed/generate'
import { DEMO_STATE } from '@/prisma/seed/larkmoor'
import { writeCounty } from '@/prisma/seed/write'
import { boardWorks } from '@/tests/support/bench-board'
import { firstDay } from '@/tests/support/bench-first-day'

const places = Number(process.argv[2] ?? 4500)
const people = Number(process.argv[3] ?? 30_000)
const times = Number(process.argv[4] ?? 60)
const words = process.argv[5] ?? ''
const folder = path.join(os.tmpdir(), `readiness-bench-${randomUUID()}`)
const seconds = (from: number) => ((performance.now() - from) / 1000).toFixed(1)

const cluster = await startCluster(folder, { port: 0 })
try {
  setEnv({
    DATABASE_URL: cluster.url,
    SECRET: 'a secret for the bench only, forty characters',
    POOL_SIZE: '8',
  })
  await deploy(cluster.url)
  await runMigrations({ connectionString: cluster.url })
  const from = performance.now()
  const county = generateAnySize({ places, people, seed: 'bench-office' })
  await db().$transaction(
    async (tx) => {
      await tx.state.create({ data: DEMO_STATE })
      await writeCounty(tx, county, { at: new Date() })
    },
    { timeout: 1_200_000 },
  )
  await db().$executeRawUnsafe('ANALYZE')
  console.log(`${places} places, ${people} people made and written in ${seconds(from)} s\n`)

  const countyId = county.county.id
  const clerk: Actor = {
    accountId: randomUUID(),
    signInId: randomUUID(),
    name: 'Bench',
    locale: 'en',
    pollWorkerId: null,
    sharedTablet: false,
    grants: [{ access: 'countyStaff', countyId }],
  }
  const heldOn = county.elections[1].heldOn as CivilDate
  const precincts = county.precincts.map((p) => p.code)
  const surnames = county.pollWorkers.map((w) => w.familyName)
  const list = (filter: PeopleFilter) => listPeople(clerk, countyId, { certifiedOn: heldOn, ...filter })
  /** Every fifth of the county's names, so that no two readings ask the same. */
  const surname = (i: number) => surnames[(i * 7919) % surnames.length]!

  if (words === '') {
    const fresh = `${countyId}-fresh`
    const { id: _, ...row } = await db().county.findUniqueOrThrow({ where: { id: countyId } })
    await db().county.create({ data: { ...row, id: fresh, settings: {} } })
    await firstDay({ ...clerk, grants: [{ access: 'countyStaff', countyId: fresh }] }, fresh, county, {
      limitSeconds: Number(process.argv[6] ?? 900),
      effort: Number(process.argv[7] ?? 0),
    })
  }

  const works: [string, (i: number) => Promise<unknown>][] = [
    ['a bare SELECT 1 (reference)', () => db().$queryRaw`SELECT 1`],
    ['people: the first page', () => list({})],
    ['people: one letter typed', (i) => list({ name: surname(i).slice(0, 1) })],
    ['people: three letters typed', (i) => list({ name: surname(i).slice(0, 3) })],
    ['people: a name that nobody has', () => list({ name: 'qqq' })],
    ['people: certified as lead on election day', () => list({ certified: 'yes', certificateKey: 'lead' })],
    ['people: not certified on election day', () => list({ certified: 'no' })],
    ['people: wants to be deputy', () => list({ wantsPositionKey: 'deputy' })],
    [
      'people: within 5 miles of a precinct',
      (i) => list({ near: precincts[(i * 31) % precincts.length]!, withinMiles: 5 }),
    ],
    ['people: speaks Somali', () => list({ language: 'so' })],
    ['people: of one party', () => list({ party: 'Republican' })],
    ['people: served six times or more', () => list({ experience: '6' })],
    ['people: can serve on election day', () => list({ freeOn: heldOn })],
    [
      'people: six filters at once',
      () =>
        list({
          certified: 'yes',
          certificateKey: 'check-in',
          language: 'es',
          party: 'Democratic',
          freeOn: heldOn,
          offersShift: 'full',
          active: 'yes',
        }),
    ],
    [
      'people: parties and views beside the list',
      () => Promise.all([listParties(clerk, countyId), listSavedViews(clerk, countyId)]),
    ],
    [
      'people: preview of a change for everybody',
      () => previewTogether(clerk, countyId, {}, { change: 'away', day: heldOn }),
    ],
    [
      'rules: what a changed rule would do to everybody',
      () =>
        previewRule(clerk, countyId, 'lead', {
          requirement: (loadPolicyTemplates().get('deputy')!.policy.ruleSets[0] as RuleSet).requirement,
          effectiveFrom: civilDateAt(new Date(), county.county.timeZone),
        }),
    ],
    ...(await boardWorks(clerk, countyId, county.elections[1].id)),
  ]

  const at = (sorted: number[], share: number) => sorted[Math.floor((sorted.length - 1) * share)]!
  console.log(
    `${'what'.padEnd(48)}${'median ms'.padStart(11)}${'p95 ms'.padStart(9)}${'ratio'.padStart(8)}${'own CPU ms'.padStart(12)}   (${times} times each)`,
  )
  let reference = 0
  for (const [name, work] of works.filter(([n], i) => i === 0 || n.includes(words))) {
    for (let i = 0; i < 3; i++) await work(i)
    const taken: number[] = []
    // What a busy machine can't inflate: the processor time of this process, without the database's.
    const cpu = process.cpuUsage()
    for (let i = 0; i < times; i++) {
      const start = performance.now()
      await work(i)
      taken.push(performance.now() - start)
    }
    const { user, system } = process.cpuUsage(cpu)
    taken.sort((a, b) => a - b)
    const [median, p95] = [at(taken, 0.5), at(taken, 0.95)]
    reference ||= median
    console.log(
      `${name.padEnd(48)}${median.toFixed(1).padStart(11)}${p95.toFixed(1).padStart(9)}${(median / reference).toFixed(0).padStart(8)}${((user + system) / 1000 / times).toFixed(0).padStart(12)}`,
    )
  }
  console.log(`\nload of the machine at the end: ${os.loadavg()[0]!.toFixed(1)} on ${os.cpus().length} cores`)
} finally {
  await closeDb()
  await cluster.stop()
  rmSync(folder, { recursive: true, force: true })
}
process.exit(0)
