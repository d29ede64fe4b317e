/** `npm run bench -- sitters [PEOPLE] [THINK SECONDS]`: that many people (200) sit the quiz at the same moment against the
 *  running product, by plain forms as their telephones send them: once without a pause, once with a person's pace (about
 *  8 s a question). Prints how long saving an answer takes, and looks in the database for every answer that was
 *  acknowledged. Reference in the same run: as many clients at once ask the product for one query (its health). */
import { performance } from 'node:perf_hooks'
import { setTimeout as pause } from 'node:timers/promises'
import type { Answer, Form, Question } from '@/lib/assessment/schema'
import { ensureBuild } from '@/lib/cli/prepare'
import { canonicalJson } from '@/lib/kernel/hash'
import { seededRandom } from '@/lib/kernel/random'
import { findEquipmentProfile, findScenario } from '@/lib/scenarios/content'
import { exploreLesson } from '@/lib/scenarios/core/explore'
import { soundPath } from '@/lib/scenarios/core/range'
import type { PlayEvent } from '@/lib/scenarios/schema'
import { startProduct } from '@/tests/support/product'
import { signIn, type Visitor, withClient } from '@/tests/support/visitor'

const PEOPLE = Number(process.argv[2] ?? 200)
const THINK_SECONDS = Number(process.argv[3] ?? 8)

ensureBuild(console.log)
const product = await startProduct({ extra: { PORT: '4370' } })
const rows = <T>(sql: string, values: unknown[] = []): Promise<T[]> =>
  withClient(product.databaseUrl, async (client) => (await client.query(sql, values)).rows as T[])

interface Times {
  page: number[]
  save: number[]
  story: number[]
  handIn: number[]
}
let pressedAgain = 0
const random = seededRandom(200)

/** A browser without JavaScript, as cheap as can be: it shares the cores with the product. */
async function open(address: string, cookie: string, times: Times): Promise<string> {
  const began = performance.now()
  const answer = await fetch(product.url + address, { headers: { cookie } })
  const html = await answer.text()
  times.page.push(performance.now() - began)
  if (answer.status !== 200) throw new Error(`${address}: ${answer.status}`)
  return html
}
async function post(
  address: string,
  cookie: string,
  html: string,
  holds: string,
  values: [string, string][],
  times: number[],
): Promise<string> {
  const form = html.split('<form').find((part) => part.includes(`name="${holds}"`))
  if (!form) throw new Error(`${address} has no form with ${holds}`)
  const body = new FormData()
  for (const [input] of form.split('</form>')[0]!.matchAll(/<input type="hidden"[^>]*>/g)) {
    const value = (name: string) => new RegExp(`${name}="([^"]*)"`).exec(input)?.[1] ?? ''
    body.append(value('name'), value('value').replaceAll('&quot;', '"').replaceAll('&amp;', '&'))
  }
  for (const [name, value] of values) body.append(name, value)
  const began = performance.now()
  for (let tries = 1; ; tries++) {
    const answer = await fetch(product.url + address, {
      method: 'POST',
      body,
      headers: { cookie, origin: product.url },
      redirect: 'manual',
    })
    const told = await answer.text()
    if (answer.status === 303) {
      // Until it is acknowledged, however often the person had to press.
      times.push(performance.now() - began)
      return answer.headers.get('location') ?? ''
    }
    const alert = /role="alert"[^>]*>(.*?)<\/div>/.exec(told)?.[1]?.replace(/<[^>]*>/g, '')
    if (tries === 5) throw new Error(`${answer.status} instead of going on: ${alert ?? 'no reason given'}`)
    pressedAgain++
  }
}

function answerOf(q: Question): { answer: Answer; fields: [string, string][] } {
  const chosen = (ids: string[]) => ids.map((id): [string, string] => ['chosen[]', id])
  switch (q.kind) {
    case 'single': {
      const option = random.pick(q.options).id
      return { answer: { kind: 'single', option }, fields: chosen([option]) }
    }
    case 'several': {
      const options = q.options.slice(0, 2).map((o) => o.id)
      return { answer: { kind: 'several', options: options.toSorted() }, fields: chosen(options) }
    }
    case 'picture-areas': {
      const areas = q.areas.slice(0, 2).map((o) => o.id)
      return { answer: { kind: 'picture-areas', areas: areas.toSorted() }, fields: chosen(areas) }
    }
    case 'order': {
      const items = random.shuffle(q.items).map((item) => item.id)
      return {
        answer: { kind: 'order', items },
        fields: items.map((id, i) => [`place-${id}`, String(i + 1)]),
      }
    }
    case 'number': {
      const value = random.below(500)
      return { answer: { kind: 'number', value }, fields: [['number', String(value)]] }
    }
  }
}

const paths = new Map<string, PlayEvent[]>()
function pathOf(key: string, profileKey: string): PlayEvent[] {
  const name = `${key} ${profileKey}`
  if (!paths.has(name))
    paths.set(name, soundPath(exploreLesson(findScenario(key)!.scenario, findEquipmentProfile(profileKey)!))!)
  return paths.get(name)!
}

interface Acknowledged {
  attemptId: string
  question: string
  answer: Answer
}

async function sit(
  { cookie }: Visitor,
  thinkSeconds: number,
  times: Times,
  told: Acknowledged[],
  handedIn: string[],
): Promise<void> {
  const think = () => (thinkSeconds > 0 ? pause(1000 * thinkSeconds * (0.5 + random.next())) : undefined)
  await think()
  const first = await open('/quiz/polls-basics', cookie, times)
  const attemptId = (await post('/quiz/polls-basics', cookie, first, 'key', [], [])).split('/').at(-2)!
  const [attempt] = await rows<{ form: Form; equipmentProfile: string; questions: Question[] }>(
    `SELECT form, "equipmentProfile", definition -> 'questions' AS questions
     FROM "Attempt" JOIN "DefinitionVersion" ON hash = "definitionHash" WHERE id = $1`,
    [attemptId],
  )
  const { questionIds, scenarioKeys } = attempt!.form
  for (const [i, id] of questionIds.entries()) {
    const address = `/quiz/sit/${attemptId}/${i + 1}`
    const html = await open(address, cookie, times)
    await think()
    const { answer, fields } = answerOf(attempt!.questions.find((q) => q.id === id)!)
    await post(address, cookie, html, 'attemptId', [...fields, ['to', 'next']], times.save)
    told.push({ attemptId, question: id, answer })
  }
  for (const [s, key] of scenarioKeys.entries())
    for (const [from, event] of pathOf(key, attempt!.equipmentProfile).entries()) {
      if (from % 4 === 0) await think()
      const began = performance.now()
      const reply = await fetch(
        `${product.url}/api/attempts/${attemptId}/story/${questionIds.length + s + 1}`,
        {
          method: 'POST',
          body: JSON.stringify({ from, event, locale: 'en' }),
          headers: { cookie, origin: product.url, 'content-type': 'application/json' },
        },
      )
      await reply.text()
      times.story.push(performance.now() - began)
      if (reply.status !== 200) throw new Error(`story: ${reply.status}`)
    }
  const review = `/quiz/sit/${attemptId}/review`
  await post(review, cookie, await open(review, cookie, times), 'attemptId', [], times.handIn)
  handedIn.push(attemptId)
}

const at = (times: number[], share: number): string => {
  const sorted = times.toSorted((a, b) => a - b)
  return sorted.length === 0 ? '—' : sorted[Math.floor((sorted.length - 1) * share)]!.toFixed(0)
}

async function round(name: string, visitors: Visitor[], thinkSeconds: number) {
  const times: Times = { page: [], save: [], story: [], handIn: [] }
  const told: Acknowledged[] = []
  const handedIn: string[] = []
  const began = performance.now()
  pressedAgain = 0
  const ends = await Promise.allSettled(visitors.map((v) => sit(v, thinkSeconds, times, told, handedIn)))
  const seconds = (performance.now() - began) / 1000
  const failed = ends.flatMap((end) => (end.status === 'rejected' ? [String(end.reason)] : []))
  for (const reason of new Set(failed)) console.log(`  failed: ${reason}`)
  const kept = await rows<{ attemptId: string; question: string; answer: Answer }>(
    `SELECT DISTINCT ON ("attemptId", event ->> 'question') "attemptId", event ->> 'question' AS question,
            event -> 'answer' AS answer
     FROM "AttemptEvent" WHERE event ->> 'type' = 'answer'
     ORDER BY "attemptId", event ->> 'question', sequence DESC`,
  )
  const keptBy = new Map(kept.map((k) => [`${k.attemptId} ${k.question}`, canonicalJson(k.answer)]))
  const lost = told.filter((t) => keptBy.get(`${t.attemptId} ${t.question}`) !== canonicalJson(t.answer))
  const marked = await rows<{ id: string }>(
    `SELECT id FROM "Attempt" WHERE id = ANY($1) AND "finishedAt" IS NOT NULL AND result IS NOT NULL`,
    [handedIn],
  )
  console.log(
    `\n${name}: ${visitors.length} people, ${seconds.toFixed(0)} s; ${told.length} answers acknowledged, ${lost.length} lost; ` +
      `${handedIn.length} handed in, ${marked.length} of them marked; pressed again ${pressedAgain} times; ${failed.length} people gave up`,
  )
  console.table(
    (
      [
        ['save an answer', times.save],
        ['open a question', times.page],
        ['one step of the story', times.story],
        ['hand in and mark', times.handIn],
      ] as const
    ).map(([what, list]) => ({
      what,
      times: list.length,
      'a second': (list.length / seconds).toFixed(0),
      'median ms': at(list, 0.5),
      'p95 ms': at(list, 0.95),
      'p99 ms': at(list, 0.99),
      'slowest ms': at(list, 1),
    })),
  )
  return { p95: Number(at(times.save, 0.95)), whole: lost.length === 0 && failed.length === 0 }
}

/** As many clients at once, one after the other each: what the framework and one query cost at this crowd. */
async function reference(): Promise<number> {
  const times: number[] = []
  await Promise.all(
    Array.from({ length: PEOPLE }, async () => {
      for (let i = 0; i < 8; i++) {
        const began = performance.now()
        await (await fetch(`${product.url}/api/health`)).text()
        times.push(performance.now() - began)
      }
    }),
  )
  console.log(
    `Reference: ${PEOPLE} clients ask for one query, 8 times each: median ${at(times, 0.5)} ms, p95 ${at(times, 0.95)} ms`,
  )
  return Number(at(times, 0.95))
}

try {
  const ids = await rows<{ id: string }>(
    `SELECT p.id FROM "PollWorker" p JOIN "Account" a ON a."pollWorkerId" = p.id
     WHERE p."countyId" = 'larkmoor' ORDER BY p."countyRef" LIMIT $1`,
    [2 * PEOPLE],
  )
  const visitors: Visitor[] = []
  for (const { id } of ids) visitors.push(await signIn(product, { workerId: id }))
  for (let i = 0; i < 50; i++) await (await fetch(`${product.url}/sign-in`)).text()
  const one = await reference()
  const hard = await round('Without a pause', visitors.slice(0, PEOPLE), 0)
  const calm = await round(`At a person’s pace (${THINK_SECONDS} s)`, visitors.slice(PEOPLE), THINK_SECONDS)
  const { loadavg } = await import('node:os')
  console.log(
    `p95 of saving an answer: ${(hard.p95 / one).toFixed(1)} times the reference without a pause, ` +
      `${(calm.p95 / one).toFixed(1)} times at a person’s pace. Load of the machine at the end: ${loadavg()[0]!.toFixed(1)}`,
  )
  process.exitCode = hard.whole && calm.whole ? 0 : 1
} finally {
  await product.stop()
}
