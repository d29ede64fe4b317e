/** `npm run bench -- replay`: grading 10,000 attempts by replay. Reference in the same run: only parsing the same logs
 *  from JSON, which any grader must do. Prints events a second and memory. */
import { seededRandom, seedOf } from '@/lib/kernel/random'
import { listScenarios, profilesFor } from '@/lib/scenarios/content'
import { randomPath } from '@/lib/scenarios/core/random-path'
import { replay } from '@/lib/scenarios/core/replay'
import type { PlayEvent } from '@/lib/scenarios/schema'

const ATTEMPTS = 10_000
/** Logs made at random are kept and used again: making one costs more than grading it. */
const LOGS_PER_LESSON = 20

const lessons = listScenarios().map((scenario) => {
  const profile = profilesFor(scenario)[0]!
  const logs = Array.from({ length: LOGS_PER_LESSON }, (_, i) =>
    JSON.stringify(randomPath(scenario, profile, seededRandom(seedOf(`${scenario.id} ${i}`)))),
  )
  return { scenario, profile, logs }
})
const attempts = Array.from({ length: ATTEMPTS }, (_, i) => {
  const lesson = lessons[i % lessons.length]!
  return { ...lesson, log: lesson.logs[Math.floor(i / lessons.length) % LOGS_PER_LESSON]! }
})

function measure(name: string, work: (attempt: (typeof attempts)[number]) => number) {
  for (const attempt of attempts.slice(0, 500)) work(attempt)
  globalThis.gc?.()
  const before = process.memoryUsage().heapUsed
  let peak = before
  let events = 0
  const start = performance.now()
  attempts.forEach((attempt, i) => {
    events += work(attempt)
    if (i % 250 === 0) peak = Math.max(peak, process.memoryUsage().heapUsed)
  })
  const seconds = (performance.now() - start) / 1000
  return {
    what: name,
    attempts: ATTEMPTS,
    events,
    seconds: seconds.toFixed(2),
    'events a second': Math.round(events / seconds).toLocaleString('en-US'),
    'attempts a second': Math.round(ATTEMPTS / seconds).toLocaleString('en-US'),
    'heap growth MB': ((peak - before) / 2 ** 20).toFixed(1),
    'resident MB': (process.memoryUsage().rss / 2 ** 20).toFixed(0),
  }
}

const parse = (log: string) => JSON.parse(log) as PlayEvent[]
let finished = 0
const rows = [
  measure('reference: parse the log only', ({ log }) => parse(log).length),
  measure('parse, replay and score', ({ scenario, profile, log }) => {
    const events = parse(log)
    if (replay(scenario, profile, events).finished) finished++
    return events.length
  }),
]
console.table(rows)
console.log(`${lessons.length} lessons; every attempt finished: ${finished === ATTEMPTS + 500}`)
