/** What the office reads of a person's past: names instead of keys, and whether training done elsewhere counts. */
import { expect, it } from 'vitest'
import { withEarlierTraining } from '@/lib/certification/core/rule-form'
import type { Requirement } from '@/lib/certification/schema'
import { db } from '@/lib/db/client'
import { listTopicNames, listWhereEarlierCounts } from '@/lib/path/queries-evidence'
import { useDatabase } from '@/tests/support/database'
import { actorWith, makeSmallCounty } from '../roster/support'

useDatabase()

it('names what a rule asks for as the rule does, and says whose rule counts training done elsewhere', async () => {
  const c = await makeSmallCounty()
  const byHand: Requirement = {
    kind: 'evidence',
    fact: 'checkOff',
    topic: 'ballot-card',
    window: { kind: 'always' },
    label: { en: 'Show how you handle the card', es: 'Muestre cómo maneja la tarjeta' },
  }
  const lead = { nameEn: 'Lead', nameEs: 'Jefe' }
  await db().ruleSet.createMany({
    data: [
      ['lead', 1, withEarlierTraining(byHand, 'lead', 24, lead)],
      // The newest version of this one dropped it.
      ['check-in', 1, withEarlierTraining(byHand, 'check-in', 24, lead)],
      ['check-in', 2, byHand],
    ].map(([certificateKey, version, requirement]) => ({
      countyId: c.countyId,
      certificateKey: certificateKey as string,
      version: version as number,
      effectiveFrom: `202${4 + (version as number)}-01-01`,
      requirement: requirement as object,
      citation: 'none',
    })),
  })
  expect(await listWhereEarlierCounts(c.clerk, c.countyId)).toEqual(['lead'])
  const names = await listTopicNames(actorWith('trainer', c.countyId), c.countyId)
  expect(names.get('checkOff ballot-card')).toBe('Show how you handle the card')
  // As content/quizzes/polls-basics.json names it.
  expect(names.get('quizPassed polls-basics')).toBe('The basics of the polls')
  await expect(listTopicNames(actorWith('countyStaff', 'elsewhere'), c.countyId)).rejects.toMatchObject({
    code: 'NOT_FOUND',
  })
})
