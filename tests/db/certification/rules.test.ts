import { beforeAll, describe, expect, it } from 'vitest'
import type { Actor } from '@/lib/auth/actor'
import { rebuildSpans } from '@/lib/certification/commands'
import { PublishRuleInput, publishRuleSet } from '@/lib/certification/commands-rules'
import { loadPolicyTemplates } from '@/lib/certification/content'
import { spansOf, topicsOf } from '@/lib/certification/core/spans-of'
import { listElectionDates, listFacts, listFactsOf, listPolicies } from '@/lib/certification/queries'
import { getRuleOrThrow, listRules, previewRule } from '@/lib/certification/queries-rules'
import type { Requirement } from '@/lib/certification/schema'
import { takeRoomRecords } from '@/lib/classes/commands-room'
import { db } from '@/lib/db/client'
import { addDays, type CivilDate } from '@/lib/kernel/dates'
import { seededRandom, seedOf } from '@/lib/kernel/random'
import { listEvidenceChoices } from '@/lib/path/queries-evidence'
import { useDatabase } from '@/tests/support/database'
import { makeTrainee, makeTrainingCounty, today } from '../classes/support'
import { makeActor } from '../scenarios/people'

useDatabase()

let county: Awaited<ReturnType<typeof makeTrainingCounty>>
let seen: Actor
beforeAll(async () => {
  county = await makeTrainingCounty()
  seen = await makeTrainee()
  await makeTrainee()
  await takeRoomRecords(county.trainer, 'larkmoor', [
    {
      kind: 'checkOff',
      key: crypto.randomUUID(),
      workerId: seen.pollWorkerId!,
      task: 'card-handling',
      equipmentProfile: 'fern',
      result: 'done',
      on: today(),
    },
  ])
})

/** Only the check-off: the one person who showed it would be certified. */
const easy: Requirement = {
  kind: 'evidence',
  fact: 'checkOff',
  topic: 'card-handling',
  window: { kind: 'months', months: 24 },
}
const input = (more: Record<string, unknown> = {}) =>
  PublishRuleInput.parse({
    countyId: 'larkmoor',
    certificateKey: 'lead',
    expectedVersion: '1',
    effectiveFrom: addDays(today(), 1),
    citation: 'Invented Code 4.5',
    requirement: JSON.stringify(easy),
    checked: 'yes',
    ...more,
  })

describe('a rule before it is published', () => {
  it('shows who would gain and lose, by name, for the next election day', async () => {
    const wanted = { requirement: easy, effectiveFrom: addDays(today(), 1) }
    const preview = await previewRule(county.clerk, 'larkmoor', 'lead', wanted)
    expect(preview).toMatchObject({
      on: addDays(today(), 60),
      election: 'General',
      gain: [{ id: seen.pollWorkerId, name: 'Bell, Ana' }],
      lose: [],
      keep: 0,
      neither: 1,
    })
    // After the election nobody asks for it any more: its own first day counts.
    const later = await previewRule(county.clerk, 'larkmoor', 'lead', {
      ...wanted,
      effectiveFrom: addDays(today(), 90),
    })
    expect(later).toMatchObject({ on: addDays(today(), 90), election: null })
    await expect(previewRule(county.trainer, 'larkmoor', 'lead', wanted)).rejects.toMatchObject({
      code: 'FORBIDDEN',
    })
    const elsewhere = await makeActor('countyStaff', 'fennick')
    await expect(previewRule(elsewhere, 'larkmoor', 'lead', wanted)).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
  })

  it('offers what the county’s rules, the templates, lessons, quizzes and positions name', async () => {
    const keys = (await listEvidenceChoices(county.clerk, 'larkmoor')).map((c) => `${c.fact}:${c.topic}`)
    for (const key of ['checkOff:card-handling', 'quizPassed:polls-basics', 'served:lead', 'oathSworn:oath'])
      expect(keys).toContain(key)
    expect(new Set(keys).size).toBe(keys.length)
  })
})

describe('publishing', () => {
  it('refuses the past, the template’s citation, an unread rule and a rule that nobody checked', async () => {
    const refuse = (more: Record<string, unknown>) => publishRuleSet(county.clerk, input(more))
    await expect(refuse({ effectiveFrom: addDays(today(), -1) })).rejects.toMatchObject({
      fields: { effectiveFrom: expect.any(String) },
    })
    const { citation } = loadPolicyTemplates().get('lead')!.policy.ruleSets[0]!
    await expect(refuse({ citation })).rejects.toMatchObject({ fields: { citation: expect.any(String) } })
    await expect(refuse({ certificateKey: 'nothing' })).rejects.toMatchObject({ code: 'NOT_FOUND' })
    await expect(refuse({ expectedVersion: '0' })).rejects.toMatchObject({ code: 'CONFLICT' })
    expect(() => input({ checked: undefined })).toThrow()
    expect(() => input({ requirement: '{"kind":"all","of":[]}' })).toThrow(/preview it again/)
    await expect(publishRuleSet(county.trainer, input())).rejects.toMatchObject({ code: 'FORBIDDEN' })
    expect(await db().ruleSet.count({ where: { countyId: 'larkmoor' } })).toBe(1)
  })

  it('makes one new version of two clerks’ at once, leaves the old one, and asks for the rebuild', async () => {
    const both = await Promise.allSettled([
      publishRuleSet(county.clerk, input()),
      publishRuleSet(county.clerk, input()),
    ])
    expect(both.map((r) => r.status).sort()).toEqual(['fulfilled', 'rejected'])
    const versions = await db().ruleSet.findMany({ orderBy: { version: 'asc' } })
    expect(versions.map((v) => v.version)).toEqual([1, 2])
    const jobs = await db().$queryRaw<{ key: string }[]>`
      SELECT key FROM graphile_worker.jobs WHERE task_identifier = 'rebuild-spans'`
    expect(jobs).toEqual([{ key: 'rebuild-spans:larkmoor' }])
    expect(await rebuildSpans('larkmoor', { compareOnly: false })).toMatchObject({ changed: 1 })
    expect(await db().certificateSpan.findMany()).toMatchObject([
      { pollWorkerId: seen.pollWorkerId, certificateKey: 'lead', validFrom: addDays(today(), 1) },
    ])
    const { rules } = await listRules(county.clerk, 'larkmoor')
    expect(rules[0]!.versions.map((v) => [v.version, v.state])).toEqual([
      [2, 'to come'],
      [1, 'in effect'],
    ])
    expect((await getRuleOrThrow(county.clerk, 'larkmoor', 'lead')).template?.notice).toMatch(/not law/)
    expect(
      await db().auditRecord.findMany({ where: { event: 'rules.published' }, select: { detail: true } }),
    ).toEqual([{ detail: { certificateKey: 'lead', version: 2, effectiveFrom: addDays(today(), 1) } }])
  })
})

describe('the facts of one certificate', () => {
  it('law: judge everybody as all their facts do, through revocations and merged records', async () => {
    const random = seededRandom(seedOf('facts of one certificate'))
    const people = await Promise.all(Array.from({ length: 12 }, () => makeTrainee()))
    const ids = people.map((p) => p.pollWorkerId!)
    const policy = {
      ...(await listPolicies(db(), 'larkmoor')).get('lead')!,
      ruleSets: [
        {
          certificateKey: 'lead',
          version: 1,
          effectiveFrom: '2020-01-01' as CivilDate,
          citation: 'Invented Code 4.5',
          requirement: { kind: 'any' as const, of: [easy, { ...easy, topic: 'opening-and-closing' }] },
        },
      ],
    }
    const topics = [...topicsOf(policy), { kind: 'lessonFinished' as const, topic: 'something-else' }]
    const written: { id: string; pollWorkerId: string }[] = []
    for (const pollWorkerId of ids)
      for (let i = 0; i < 14; i++) {
        const own = written.filter((f) => f.pollWorkerId === pollWorkerId)
        const target = i > 4 && random.below(3) === 0 ? random.pick(own) : null
        const taken = target && (await db().fact.count({ where: { revokesFactId: target.id } })) > 0
        const { kind, topic } = random.pick(topics)
        const fact = await db().fact.create({
          data: {
            countyId: 'larkmoor',
            pollWorkerId,
            kind: target && !taken ? 'revocation' : kind,
            topic,
            happenedOn: addDays(today(), -random.below(900)),
            scoreFraction: kind === 'quizPassed' ? 0.95 : null,
            equipmentProfile: kind === 'checkOff' ? 'fern' : null,
            revokesFactId: target && !taken ? target.id : null,
          },
        })
        written.push({ id: fact.id, pollWorkerId })
      }
    await db().pollWorker.update({ where: { id: ids[1]! }, data: { mergedIntoId: ids[0]!, active: false } })
    const [all, few] = await Promise.all([
      listFacts(db(), 'larkmoor'),
      listFactsOf(db(), 'larkmoor', topicsOf(policy)),
    ])
    const elections = await listElectionDates(db(), 'larkmoor')
    const spans = (facts: Awaited<ReturnType<typeof listFacts>>) =>
      ids.map((id) => spansOf(policy, facts.get(id) ?? [], elections))
    expect(spans(few)).toEqual(spans(all))
    expect(spans(all).filter((s) => s.length > 0).length).toBeGreaterThan(0)
    expect([...few.values()].flat().length).toBeLessThan([...all.values()].flat().length)
  })
})
