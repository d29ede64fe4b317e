/** From what somebody says is wrong about them to the office's answer. */
import { expect, it } from 'vitest'
import { db } from '@/lib/db/client'
import { exportRecordOf } from '@/lib/record/commands'
import {
  AnswerCorrectionInput,
  AskCorrectionInput,
  answerCorrection,
  askForCorrection,
} from '@/lib/record/commands-corrections'
import { getMyCorrections, listAskedCorrections } from '@/lib/record/queries-corrections'
import { useDatabase } from '@/tests/support/database'
import { asWorker } from '../offers/support'
import { actorWith, auditEvents, makeSmallCounty, type SmallCounty } from '../roster/support'

useDatabase()

const ask = (c: SmallCounty, text: string, who: keyof SmallCounty['people'] = 'ana') =>
  askForCorrection(asWorker(c.countyId, c.people[who]), AskCorrectionInput.parse({ text }))
const answerOf = (c: SmallCounty, requestId: string) =>
  AnswerCorrectionInput.parse({ countyId: c.countyId, requestId, answer: 'The phone is corrected.' })

it('is asked once, seen by the office, answered once, and told in the person’s language', async () => {
  const c = await makeSmallCounty()
  await db().pollWorker.update({
    where: { id: c.people.ana },
    data: { email: 'ana@example.org', languages: ['es'] },
  })
  await ask(c, '  My phone ends in 11.  ')
  await ask(c, 'My phone ends in 11.')
  const [asked, ...more] = await listAskedCorrections(c.clerk, c.countyId)
  expect(more, 'a second press asks for nothing more').toEqual([])
  expect(asked).toMatchObject({ name: 'Ana Test', workerId: c.people.ana, text: 'My phone ends in 11.' })
  expect(await listAskedCorrections(c.clerk, c.countyId, c.people.ben)).toEqual([])

  expect(await answerCorrection(c.clerk, answerOf(c, asked!.id))).toEqual({
    workerId: c.people.ana,
    written: true,
  })
  await expect(answerCorrection(c.clerk, answerOf(c, asked!.id))).rejects.toMatchObject({ code: 'CONFLICT' })
  expect(await listAskedCorrections(c.clerk, c.countyId)).toEqual([])
  const mine = await getMyCorrections(asWorker(c.countyId, c.people.ana))
  expect(mine.requests).toMatchObject([{ answer: 'The phone is corrected.' }])
  expect(mine.requests[0]!.answeredOn).not.toBeNull()
  expect((await getMyCorrections(asWorker(c.countyId, c.people.ben))).requests).toEqual([])
  const messages = await db().outboxMessage.findMany({ where: { countyId: c.countyId } })
  expect(messages).toMatchObject([
    { kind: 'correction-answered', toAddress: 'ana@example.org', locale: 'es' },
  ])
  expect(await auditEvents(c.countyId)).toEqual(['worker.correction-asked', 'worker.correction-answered'])
  const records = await db().auditRecord.findMany({ where: { chain: c.countyId } })
  expect(JSON.stringify(records), 'nothing personal in the chain').not.toContain('phone')
  const { parts } = await exportRecordOf(c.clerk, c.countyId, c.people.ana)
  expect(parts.corrections).toMatchObject([{ text: 'My phone ends in 11.' }])
})

it('is refused when it says nothing, or too often; and answered by the county’s own office alone', async () => {
  const c = await makeSmallCounty()
  await expect(ask(c, ' ')).rejects.toMatchObject({ fields: { text: expect.any(String) } })
  for (let i = 0; i < 10; i++) await ask(c, `Number ${i}`)
  await expect(ask(c, 'One more')).rejects.toThrow(/call/)
  expect(await db().correctionRequest.count({ where: { countyId: c.countyId } })).toBe(10)
  const [asked] = await listAskedCorrections(c.clerk, c.countyId)
  for (const [actor, code] of [
    [actorWith('trainer', c.countyId), 'FORBIDDEN'],
    [actorWith('countyStaff', 'elsewhere'), 'NOT_FOUND'],
    [asWorker(c.countyId, c.people.ana), 'FORBIDDEN'],
  ] as const) {
    await expect(listAskedCorrections(actor, c.countyId)).rejects.toMatchObject({ code })
    await expect(answerCorrection(actor, answerOf(c, asked!.id))).rejects.toMatchObject({ code })
  }
  const other = await makeSmallCounty()
  await expect(
    answerCorrection(other.clerk, { ...answerOf(c, asked!.id), countyId: other.countyId }),
  ).rejects.toMatchObject({ code: 'NOT_FOUND' })
  await expect(askForCorrection(c.clerk, { text: 'Mine' })).rejects.toMatchObject({ code: 'NOT_FOUND' })
  expect(
    () => answerOf(c, asked!.id) && AnswerCorrectionInput.parse({ ...answerOf(c, asked!.id), answer: ' ' }),
  ).toThrow()
})
