import { beforeAll, describe, expect, it } from 'vitest'
import type { Actor } from '@/lib/auth/actor'
import { rebuildSpans } from '@/lib/certification/commands'
import { PublishRuleInput, publishRuleSet } from '@/lib/certification/commands-rules'
import { loadPolicyTemplates } from '@/lib/certification/content'
import { getRuleOrThrow, listRules, previewRule } from '@/lib/certification/queries-rules'
import type { Requirement } from '@/lib/certification/schema'
import { takeRoomRecords } from '@/lib/classes/commands-room'
import { db } from '@/lib/db/client'
import { addDays } from '@/lib/kernel/dates'
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
