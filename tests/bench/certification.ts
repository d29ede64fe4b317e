/** Spans of a whole state-sized county: 30,000 people × 5 certificate types, from facts, in one go.
 *  The reference, measured in the same run: the same question asked day by day over the same people (a sample,
 *  scaled), which is what a program without interval sets would do. */
import { performance } from 'node:perf_hooks'
import { loadPolicyTemplates } from '@/lib/certification/content'
import { openBook } from '@/lib/certification/core/evidence'
import { spansFromBook, spansOf } from '@/lib/certification/core/spans-of'
import { statusOn } from '@/lib/certification/core/status'
import type { ElectionDate, Fact, Policy, Requirement } from '@/lib/certification/schema'
import { addDays, addMonths, type CivilDate, civilDate, daysBetween } from '@/lib/kernel/dates'
import { seededRandom, seedOf } from '@/lib/kernel/random'

const PEOPLE = 30_000
const policies: Policy[] = [...loadPolicyTemplates().values()]
  .map((t) => ({
    ...t.policy,
    equipmentChanges: [{ from: civilDate('2025-06-01'), profile: 'alder', replaces: 'birch' }],
  }))
  .filter((p) => p.certificateKey !== 'ballot-station')
const elections: ElectionDate[] = ['2024-11-05', '2026-03-03', '2026-11-03', '2028-11-07'].map((heldOn) => ({
  id: heldOn,
  heldOn: civilDate(heldOn),
}))

const leaves = (r: Requirement): Extract<Requirement, { kind: 'evidence' }>[] =>
  r.kind === 'evidence' ? [r] : r.of.flatMap(leaves)
const topics = [
  ...new Map(
    policies.flatMap((p) => leaves(p.ruleSets[0]!.requirement)).map((l) => [`${l.fact} ${l.topic}`, l]),
  ).values(),
]

const random = seededRandom(seedOf('bench certification'))
const start = civilDate('2022-01-01')
const factsOf = (person: number): Fact[] =>
  topics.flatMap((leaf) =>
    Array.from({ length: random.below(4) }, (_, i): Fact => {
      return {
        id: `${person}-${leaf.fact}-${leaf.topic}-${i}`,
        kind: leaf.fact,
        topic: leaf.topic,
        on: addDays(start, random.below(1700)),
        scoreFraction: leaf.fact === 'quizPassed' ? 0.7 + random.next() * 0.3 : null,
        equipmentProfile: leaf.fact === 'checkOff' ? random.pick(['alder', 'birch']) : null,
      }
    }),
  )
const people = Array.from({ length: PEOPLE }, (_, i) => factsOf(i))
const factCount = people.reduce((n, facts) => n + facts.length, 0)

let began = performance.now()
let spans = 0
let certified = 0
for (const facts of people) {
  const book = openBook(facts)
  for (const policy of policies) {
    const set = spansFromBook(policy, book, elections)
    spans += set.length
    if (set.some((s) => s.from <= '2026-11-03' && (s.until === null || s.until > '2026-11-03'))) certified++
  }
}
const coreMs = performance.now() - began

began = performance.now()
const asked = 2000
for (let i = 0; i < asked; i++)
  statusOn(policies[i % policies.length]!, people[i]!, elections, civilDate('2026-11-03'))
const statusMs = (performance.now() - began) / asked

/** Day by day, for one person and policy: every leaf, every fact, every day of ten years. */
function dayByDay(policy: Policy, facts: readonly Fact[]): number {
  let held = 0
  for (let day = start, i = 0; i < 3653; i++, day = addDays(day, 1))
    if (holds(policy.ruleSets[0]!.requirement, facts, day)) held++
  return held
}
function holds(r: Requirement, facts: readonly Fact[], day: CivilDate): boolean {
  if (r.kind === 'all') return r.of.every((part) => holds(part, facts, day))
  if (r.kind === 'any') return r.of.some((part) => holds(part, facts, day))
  if (r.kind === 'atLeast') return r.of.filter((part) => holds(part, facts, day)).length >= r.count
  const window = r.window
  return facts.some(
    (f) =>
      f.kind === r.fact &&
      f.topic === r.topic &&
      f.on <= day &&
      (window.kind === 'months' ? day < addMonths(f.on, window.months) : true) &&
      (f.scoreFraction ?? 0) >= (r.minScoreFraction ?? 0) &&
      !(r.equipment && f.equipmentProfile === 'birch' && (day >= '2025-06-01' || f.on >= '2025-06-01')),
  )
}
const sample = 8
/** A policy whose one version has always been in effect, so that both ways judge the same ten years. */
const always = (policy: Policy): Policy => ({
  ...policy,
  ruleSets: [{ ...policy.ruleSets[0]!, effectiveFrom: start }],
})
const end = addDays(start, 3653)
let coreDays = 0
for (let i = 0; i < sample; i++)
  for (const policy of policies)
    for (const s of spansOf(always(policy), people[i]!, elections))
      coreDays += daysBetween(s.from, s.until === null || s.until > end ? end : s.until)
began = performance.now()
let days = 0
for (let i = 0; i < sample; i++) for (const policy of policies) days += dayByDay(policy, people[i]!)
const oracleMs = ((performance.now() - began) / sample) * PEOPLE

console.table({
  'rebuild, interval sets': {
    seconds: (coreMs / 1000).toFixed(2),
    'µs a certificate': ((coreMs * 1000) / PEOPLE / policies.length).toFixed(1),
  },
  [`reference, day by day (${sample} people, scaled)`]: {
    seconds: (oracleMs / 1000).toFixed(0),
    'µs a certificate': ((oracleMs * 1000) / PEOPLE / policies.length).toFixed(0),
  },
})
console.log(
  `${PEOPLE} people × ${policies.length} types, ${factCount} facts → ${spans} spans; ${certified} certificates hold on 2026-11-03.`,
)
console.log(
  `One status with its reasons: ${statusMs.toFixed(3)} ms. Days held in the sample: core ${coreDays}, day by day ${days}.`,
)
if (days !== coreDays) throw new Error('the two ways disagree')
