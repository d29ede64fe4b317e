/** The product is killed again and again in the two places of the circle where a half deed would hurt most: while quizzes
 *  are handed in (web process and database in turn), and during a roster run (job runner). What was acknowledged is
 *  there afterwards, nothing is half done. Checked with SQL of its own; PostgreSQL's own `xmin` (the transaction that wrote
 *  a row) says whether a roster was written in one piece. Questions go by plain forms without JavaScript; the story of the
 *  quiz has no such form and goes by the address that its player uses. */
import { execFileSync } from 'node:child_process'
import { readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { setTimeout as pause } from 'node:timers/promises'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { setEnv } from '@/lib/env'
import { findEquipmentProfile, findScenario } from '@/lib/scenarios/content'
import { exploreLesson } from '@/lib/scenarios/core/explore'
import { soundPath } from '@/lib/scenarios/core/range'
import { getPage, type PlainPage, postForm } from '@/tests/support/plain-form'
import { type Product, startProduct } from '@/tests/support/product'
import { signIn, type Visitor, withClient } from '@/tests/support/visitor'

const FULL = process.env.TEST_FULL === '1'
const KILLS = FULL ? 20 : 3
const SITTERS = 4
/** The start command gives up at the fifth start of one process within a minute; this stays clear of it. */
const STARTS_A_MINUTE = 3

let product: Product
let workers: Visitor[]
let clerk: Visitor

beforeAll(async () => {
  product = await startProduct({ extra: { PORT: '4340', ROSTER_WORK: FULL ? '1' : '0' } })
  clerk = await signIn(product, { email: 'clerk@larkmoor.example' })
  const ids = await rows<{ id: string }>(
    `SELECT p.id FROM "PollWorker" p JOIN "Account" a ON a."pollWorkerId" = p.id
     WHERE p."countyId" = 'larkmoor' ORDER BY p."countyRef" LIMIT 40`,
  )
  workers = []
  for (const { id } of ids) workers.push(await signIn(product, { workerId: id }))
})
afterAll(async () => {
  const { closeDb } = await import('@/lib/db/client')
  await closeDb()
  await product?.stop()
})

const rows = <T>(sql: string, values: unknown[] = []): Promise<T[]> =>
  withClient(product.databaseUrl, async (client) => (await client.query(sql, values)).rows as T[])

/** Children of a process that we started, by what their command line says; never by name alone. */
const childrenOf = (pid: number, ...says: string[]): number[] =>
  execFileSync('ps', ['-o', 'pid=,args=', '--ppid', String(pid)], { encoding: 'utf8' })
    .split('\n')
    .filter((line) => says.some((word) => line.includes(word)))
    .map((line) => Number(line.trim().split(/\s+/)[0]))

function pidsOf(name: 'web' | 'jobs' | 'database'): number[] {
  const start = product.process.pid!
  if (name === 'web') return childrenOf(start, 'next/dist/bin/next', 'next-server').slice(0, 1)
  if (name === 'jobs') return childrenOf(start, 'run-jobs.ts').slice(0, 1)
  const postmaster = Number(
    readFileSync(path.join(product.folder, 'pg/data/postmaster.pid'), 'utf8').split('\n')[0],
  )
  // With its backends: as when the machine loses its power, nobody gets to finish a sentence.
  return [postmaster, ...childrenOf(postmaster, 'postgres')]
}

const killed: Record<string, number[]> = { web: [], jobs: [], database: [] }

/** Waits until one more restart of this process is within what the start command takes. */
async function untilMayDie(name: string): Promise<void> {
  while (killed[name]!.filter((at) => at > Date.now() - 62_000).length >= STARTS_A_MINUTE) await pause(200)
}

function killNow(name: 'web' | 'jobs' | 'database'): void {
  const pids = pidsOf(name)
  expect(pids[0], `the ${name} process runs`).toBeGreaterThan(1)
  killed[name]!.push(Date.now())
  for (const pid of pids)
    try {
      process.kill(pid, 'SIGKILL')
    } catch {} // A backend may be gone with its postmaster.
}

async function untilHealthy(): Promise<void> {
  for (let i = 0; i < 300; i++) {
    const answer = await fetch(`${product.url}/api/health`).catch(() => null)
    if (answer?.ok) return
    await pause(100)
  }
  throw new Error(`not healthy again within 30 s:\n${product.output()}`)
}

/** Returns true in the moment in which some transaction has begun to write to this table and has not ended. */
const whileWriting = (table: 'Fact' | 'Seating', seconds: number, goOn: () => Promise<boolean> | boolean) =>
  withClient(product.databaseUrl, async (client) => {
    const until = Date.now() + seconds * 1000
    for (let i = 0; Date.now() < until; i++) {
      const { rowCount } = await client.query(
        `SELECT 1 FROM pg_locks WHERE relation = '"${table}"'::regclass AND mode = 'RowExclusiveLock'`,
      )
      if (rowCount) return true
      if (i % 20 === 19 && !(await goOn())) return false
    }
    return false
  })

async function expectWhole(): Promise<void> {
  setEnv({ DATABASE_URL: product.databaseUrl })
  const [{ db }, { verifyAllChains }, { rebuildSpans }] = await Promise.all([
    import('@/lib/db/client'),
    import('@/lib/audit/verify'),
    import('@/lib/certification/commands'),
  ])
  for (const verdict of await verifyAllChains(db())) expect(verdict).toMatchObject({ status: 'whole' })
  expect(await rebuildSpans('larkmoor', { compareOnly: true })).toMatchObject({ changed: 0 })
}

// --- Handing in a quiz ------------------------------------------------------------------------------------------------

interface Question {
  id: string
  options?: { id: string; right: boolean }[]
  areas?: { id: string; right: boolean }[]
  items?: { id: string }[]
  answer?: number
}

/** Question id → question, read from the content files: the key is not taken from the product. */
const questions = new Map(
  readdirSync('content/questions')
    .filter((file) => file.endsWith('.json'))
    .flatMap((file) =>
      (
        JSON.parse(readFileSync(path.join('content/questions', file), 'utf8')) as { questions: Question[] }
      ).questions.map((question) => [question.id, question] as const),
    ),
)

/** What the person was told is kept. `given`: the ids or the number, in order, as one text. */
const saved: { attemptId: string; item: string; given: string }[] = []
const handedIn = new Set<string>()
let cutOff = 0

/** Does one thing until it is answered: a person whose page did not load tries again. */
async function insist<T>(act: () => Promise<T | null>): Promise<T> {
  for (let i = 0; i < 400; i++) {
    const got = await act().catch(() => null)
    if (got !== null) return got
    cutOff++
    await pause(50 + 10 * (i % 10))
  }
  throw new Error(`not answered after 400 tries:\n${product.output().slice(-2000)}`)
}
const redirected = (page: PlainPage) => page.status === 303

/** Puts the right answer into the page's own form, as a person would; says what was given. */
function fillIn(page: PlainPage, question: Question): { given: string; values: Record<string, string> } {
  const right = [...(question.options ?? []), ...(question.areas ?? [])].filter((o) => o.right)
  for (const input of page.document.querySelectorAll('[name="chosen[]"]'))
    if (right.some((o) => o.id === input.getAttribute('value'))) input.setAttribute('checked', '')
    else input.removeAttribute('checked')
  const places = (question.items ?? []).map((item, i) => [`place-${item.id}`, String(i + 1)])
  const values: Record<string, string> = Object.fromEntries(places)
  if (question.answer !== undefined) values.number = String(question.answer)
  const given = [
    ...right.map((o) => o.id).sort(),
    ...(question.items ?? []).map((item) => item.id),
    ...(question.answer === undefined ? [] : [String(question.answer)]),
  ].join(' ')
  return { given, values }
}

const paths = new Map<string, ReturnType<typeof soundPath>>()
function storyPath(profileKey: string) {
  const { scenario } = findScenario('card-returned')!
  if (!paths.has(profileKey))
    paths.set(profileKey, soundPath(exploreLesson(scenario, findEquipmentProfile(profileKey)!)))
  return paths.get(profileKey)!
}

/** One person sits one quiz; `well`: answers all and plays the story soundly, else two answers and done. */
async function sit({ cookie, pollWorkerId }: Visitor, well: boolean, isOver: () => boolean): Promise<void> {
  const get = (address: string) =>
    insist(async () => {
      const page = await getPage(product.url + address, cookie)
      return page.status < 500 ? page : null
    })
  await insist(async () => {
    const page = await getPage(`${product.url}/quiz/polls-basics`, cookie)
    return redirected(await postForm(page, cookie, 'key', {})) || null
  })
  const attempt = await insist(
    async () =>
      (
        await rows<{ id: string; form: { questionIds: string[] }; equipmentProfile: string }>(
          `SELECT id, form, "equipmentProfile" FROM "Attempt"
           WHERE "pollWorkerId" = $1 AND kind = 'quiz' AND "finishedAt" IS NULL`,
          [pollWorkerId],
        )
      )[0] ?? null,
  )
  const asked = attempt.form.questionIds
  for (const [i, id] of (well ? asked : asked.slice(0, 2)).entries()) {
    if (isOver()) return
    const given = await insist(async () => {
      const page = await getPage(`${product.url}/quiz/sit/${attempt.id}/${i + 1}`, cookie)
      const filled = fillIn(page, questions.get(id)!)
      return redirected(await postForm(page, cookie, 'attemptId', filled.values)) ? filled.given : null
    })
    saved.push({ attemptId: attempt.id, item: id, given })
  }
  if (well)
    for (const [from, event] of storyPath(attempt.equipmentProfile).entries()) {
      if (isOver()) return
      await insist(async () => {
        const answer = await fetch(`${product.url}/api/attempts/${attempt.id}/story/${asked.length + 1}`, {
          method: 'POST',
          body: JSON.stringify({ from, event, locale: 'en' }),
          headers: { cookie, origin: product.url, 'content-type': 'application/json' },
        })
        return answer.ok || null
      })
      saved.push({ attemptId: attempt.id, item: 'card-returned', given: `${from} ${sorted(event)}` })
    }
  const review = await get(`/quiz/sit/${attempt.id}/review`)
  expect(review.document.querySelector('form [name="attemptId"]')).not.toBeNull()
  // The same form again until it is answered: a cut-off hand-in may or may not have counted, the next one tells.
  await insist(async () => redirected(await postForm(review, cookie, 'attemptId', {})) || null)
  handedIn.add(attempt.id)
  const result = await get(`/quiz/result/${attempt.id}`)
  expect(result.html.includes(well ? 'You passed' : 'Not passed yet'), 'the result is shown').toBe(true)
  // And once more, by a page left open in another tab.
  await insist(async () => redirected(await postForm(review, cookie, 'attemptId', {})) || null)
}

/** JSON with keys in order, as the database gives them back in an order of its own. */
const sorted = (value: unknown): string =>
  JSON.stringify(value, (_key, part) =>
    part && typeof part === 'object' && !Array.isArray(part)
      ? Object.fromEntries(Object.entries(part).sort(([a], [b]) => (a < b ? -1 : 1)))
      : part,
  )

interface KeptEvent {
  type: 'answer' | 'play'
  question?: string
  scenario?: string
  event?: unknown
  answer?: { option?: string; options?: string[]; areas?: string[]; items?: string[]; value?: number } | null
}
const givenIn = ({ answer: a }: KeptEvent): string =>
  [
    ...(a?.option ? [a.option] : []),
    ...[...(a?.options ?? []), ...(a?.areas ?? [])].sort(),
    ...(a?.items ?? []),
    ...(a?.value === undefined ? [] : [String(a.value)]),
  ].join(' ')

it(
  `loses no answer and no hand-in of a quiz over ${KILLS} kills`,
  async () => {
    const began = new Date()
    let over = false
    let turn = 0
    let inTheAct = 0
    const sitter = async () => {
      while (!over) {
        const n = turn++
        // Mostly passes: those write the most (result, fact, spans, audit record).
        await sit(workers[n % workers.length]!, n % 4 !== 3, () => over)
      }
    }
    const sitters = Array.from({ length: SITTERS }, sitter)
    const allSat = Promise.all(sitters).finally(() => {
      over = true
    })
    const kills = async () => {
      for (let kill = 0; kill < KILLS && !over; kill++) {
        const name = kill % 2 === 0 ? 'web' : 'database'
        await untilMayDie(name)
        const before = handedIn.size
        for (let i = 0; i < 1200 && handedIn.size < before + 2 && !over; i++) await pause(50)
        // Two of three times in the middle of writing a pass, else whenever it comes.
        if (kill % 3 === 2) await pause((kill * 137) % 400)
        else if (await whileWriting('Fact', 20, () => true)) inTheAct++
        killNow(name)
        await pause(300)
        await untilHealthy()
      }
      over = true
    }
    // A sitter that fails ends the killing too.
    await Promise.all([kills(), allSat])
    expect(handedIn.size).toBeGreaterThanOrEqual(KILLS)

    const events = new Map<string, KeptEvent[]>()
    for (const { attemptId, event } of await rows<{ attemptId: string; event: KeptEvent }>(
      `SELECT "attemptId", event FROM "AttemptEvent" ORDER BY "attemptId", sequence`,
    ))
      events.set(attemptId, [...(events.get(attemptId) ?? []), event])
    const kept = new Set(
      [...events].flatMap(([attemptId, log]) => {
        let from = 0
        return log.map((e) =>
          e.type === 'play'
            ? `${attemptId} ${e.scenario} ${from++} ${sorted(e.event)}`
            : `${attemptId} ${e.question} ${givenIn(e)}`,
        )
      }),
    )
    expect(
      saved.map((s) => `${s.attemptId} ${s.item} ${s.given}`).filter((answer) => !kept.has(answer)),
    ).toEqual([])

    const attempts = await rows<{
      id: string
      finishedAt: Date | null
      passed: boolean | null
      hasResult: boolean
      scored: boolean
      audits: number
      facts: number
      passFacts: number
      open: number
    }>(
      `SELECT a.id, a."finishedAt", a.passed, a.result IS NOT NULL AS "hasResult", a."scoreFraction" IS NOT NULL AS scored,
         (SELECT count(*)::int FROM "AuditRecord" r WHERE r.subject = 'attempt:' || a.id AND r.event = 'attempt.finished') AS audits,
         (SELECT count(*)::int FROM "Fact" f WHERE f."onceKey" = 'attempt:' || a.id) AS facts,
         (SELECT count(*)::int FROM "Fact" f JOIN "AuditRecord" r ON r.detail->>'factId' = f.id::text AND r.event = 'fact.recorded'
            WHERE f."onceKey" = 'attempt:' || a.id AND f.kind = 'quizPassed' AND f.topic = a.key
              AND f."pollWorkerId" = a."pollWorkerId") AS "passFacts",
         (SELECT count(*)::int FROM "Attempt" b WHERE b."pollWorkerId" = a."pollWorkerId" AND b.key = a.key
            AND b."finishedAt" IS NULL) AS open
       FROM "Attempt" a WHERE a.kind = 'quiz' AND a."pollWorkerId" = ANY($1::uuid[]) AND a."startedAt" >= $2`,
      // The demo's earlier sittings came with the county, not through the doors tested here.
      [workers.map((w) => w.pollWorkerId), began],
    )
    const known = new Map(attempts.map((a) => [a.id, a]))
    expect([...handedIn].filter((id) => !known.get(id)?.finishedAt)).toEqual([])
    // Finish, result, audit record, and on a pass the one fact with its own audit record: all or none.
    for (const a of attempts)
      expect(a).toMatchObject(
        a.finishedAt
          ? { hasResult: true, scored: true, audits: 1, facts: a.passed ? 1 : 0, passFacts: a.passed ? 1 : 0 }
          : { hasResult: false, scored: false, passed: null, audits: 0, facts: 0, passFacts: 0 },
      )
    for (const a of attempts) expect(a.open).toBeLessThanOrEqual(1)
    expect(attempts.filter((a) => a.passed).length).toBeGreaterThan(0)
    await expectWhole()
    console.log(
      `${KILLS} kills (${killed.web!.length} web process, ${killed.database!.length} database; ${inTheAct} while a pass was being written): ` +
        `${saved.length} answers and ${handedIn.size} hand-ins acknowledged (${attempts.filter((a) => a.passed).length} passes), ` +
        `${cutOff} requests refused or cut off`,
    )
  },
  FULL ? 1_200_000 : 240_000,
)

// --- A roster run -----------------------------------------------------------------------------------------------------

interface Run {
  id: string
  status: string
  stage: string
  outcome: { rosterId: string; revision: number; filled: number } | null
  writtenBy: string
}

/** The draft to the last row, with the transaction that wrote each. */
const draftOf = async (electionId: string) => {
  const [roster] = await rows<{ id: string; revision: number; version: number; writtenBy: string }>(
    `SELECT id, revision, version, xmin::text AS "writtenBy" FROM "Roster" WHERE "electionId" = $1 ORDER BY version DESC LIMIT 1`,
    [electionId],
  )
  const seatings = await rows<{ id: string; seatId: string; pollWorkerId: string; writtenBy: string }>(
    `SELECT id, "seatId", "pollWorkerId", xmin::text AS "writtenBy" FROM "Seating" WHERE "rosterId" = $1 ORDER BY "seatId", "pollWorkerId"`,
    [roster?.id],
  )
  return { roster, seatings }
}
const pairsOf = ({ seatings }: Awaited<ReturnType<typeof draftOf>>) =>
  seatings.map((s) => `${s.seatId} ${s.pollWorkerId}`)

const newestRun = async (electionId: string) =>
  (
    await rows<Run>(
      `SELECT id, status::text, stage, outcome, xmin::text AS "writtenBy" FROM "RosterRun"
       WHERE "electionId" = $1 ORDER BY "createdAt" DESC, id DESC LIMIT 1`,
      [electionId],
    )
  )[0]
const filledRecords = async (runId: string) =>
  (await rows(`SELECT 1 FROM "AuditRecord" WHERE event = 'roster.filled' AND detail->>'runId' = $1`, [runId]))
    .length

/** Waits until the clerk's page offers the button (a run whose process died is given up after twenty seconds). */
async function askForRun(electionId: string): Promise<Run> {
  const before = (await newestRun(electionId))?.id
  for (let i = 0; i < 200; i++) {
    const page = await getPage(`${product.url}/office/larkmoor/elections/${electionId}`, clerk.cookie)
    let offered = false
    // Only the form with this button stays: others of the page name the election too.
    for (const form of page.document.querySelectorAll('form'))
      if (/^Fill the seats/.test(form.querySelector('button')?.textContent?.trim() ?? '')) offered = true
      else form.remove()
    if (offered) {
      const answer = await postForm(page, clerk.cookie, 'electionId', {})
      expect(answer.status, answer.html.slice(0, 400)).toBe(303)
      const run = (await newestRun(electionId))!
      expect(run.id).not.toBe(before)
      return run
    }
    await pause(250)
  }
  throw new Error(`the page offers no run within 50 s: ${JSON.stringify(await newestRun(electionId))}`)
}

async function untilStatus(electionId: string, statuses: string[], seconds: number): Promise<Run> {
  const until = Date.now() + seconds * 1000
  for (;;) {
    const run = (await newestRun(electionId))!
    if (statuses.includes(run.status)) return run
    if (Date.now() > until) throw new Error(`the run stays ${run.status} (${run.stage})`)
    await pause(20)
  }
}

it(
  `leaves no half roster over ${KILLS} kills of the job runner`,
  async () => {
    const [election] = await rows<{ id: string }>(
      `SELECT e.id FROM "Election" e WHERE e."countyId" = 'larkmoor'
         AND EXISTS (SELECT 1 FROM "Seat" s WHERE s."electionId" = e.id) ORDER BY e."heldOn" DESC LIMIT 1`,
    )
    const electionId = election!.id
    const complete = async () => {
      await askForRun(electionId)
      await untilStatus(electionId, ['running', 'done'], 30)
      const began = Date.now()
      const run = await untilStatus(electionId, ['done', 'failed', 'cancelled'], 120)
      expect(run.status).toBe('done')
      return { run, tookMs: Date.now() - began }
    }
    const expectFull = (now: Awaited<ReturnType<typeof draftOf>>, run: Run) => {
      expect(now.roster).toMatchObject({ id: run.outcome!.rosterId, revision: run.outcome!.revision })
      // Two people may share a seat; a run leaves no half of one empty.
      expect(new Set(now.seatings.map((s) => s.seatId)).size).toBe(run.outcome!.filled)
      // Run, draft and every seating were written by one and the same transaction.
      expect(new Set([run, now.roster!, ...now.seatings].map((row) => row.writtenBy)).size).toBe(1)
    }
    const first = await complete()
    const full = await draftOf(electionId)
    expectFull(full, first.run)
    expect(full.seatings.length).toBeGreaterThan(100)

    const ends: Record<string, number> = {}
    let inTheAct = 0
    for (let kill = 0; kill < KILLS; kill++) {
      const before = await draftOf(electionId)
      await untilMayDie('jobs')
      const asked = await askForRun(electionId)
      await untilStatus(electionId, ['running', 'done'], 30)
      // Two of three times at a moment spread over the run, else in the middle of its last transaction.
      if (kill % 3 !== 1) await pause((first.tookMs * (((kill * 7) % KILLS) + 0.5)) / KILLS)
      else if (
        await whileWriting('Seating', 60, async () => (await newestRun(electionId))?.status === 'running')
      )
        inTheAct++
      const { stage } = (await newestRun(electionId))!
      killNow('jobs')
      // Its connections close and PostgreSQL rolls back what was open.
      await pause(1000)
      const run = (await newestRun(electionId))!
      const now = await draftOf(electionId)
      expect(run.id).toBe(asked.id)
      ends[`${run.status} (${stage})`] = (ends[`${run.status} (${stage})`] ?? 0) + 1
      expect(await filledRecords(run.id)).toBe(run.status === 'done' ? 1 : 0)
      if (run.status === 'done') {
        expectFull(now, run)
        expect(now.roster!.revision).toBe(before.roster!.revision + 1)
        expect(pairsOf(now)).toEqual(pairsOf(full))
      } else {
        expect(run.status).toBe('running')
        expect(run.outcome).toBeNull()
        expect(now).toEqual(before)
      }
    }
    const cut = await draftOf(electionId)
    const last = await complete()
    const after = await draftOf(electionId)
    expectFull(after, last.run)
    expect(after.roster!.revision).toBe(cut.roster!.revision + 1)
    expect(pairsOf(after)).toEqual(pairsOf(full))
    // A run is done if, and only if, its roster was written; every other one is ended, none hangs.
    const all = await rows<Run>(`SELECT id, status::text, outcome FROM "RosterRun" WHERE "electionId" = $1`, [
      electionId,
    ])
    expect(all).toHaveLength(KILLS + 2)
    for (const run of all) {
      expect(['done', 'failed']).toContain(run.status)
      expect(await filledRecords(run.id)).toBe(run.status === 'done' ? 1 : 0)
      expect(run.outcome !== null).toBe(run.status === 'done')
    }
    expect(all.some((run) => run.status === 'failed')).toBe(true)
    await expectWhole()
    console.log(
      `${KILLS} kills of the job runner (${inTheAct} while the roster was being written); a whole run takes ${first.tookMs} ms; ` +
        `status after the kill (stage last told): ${JSON.stringify(ends)}`,
    )
  },
  FULL ? 1_500_000 : 300_000,
)
