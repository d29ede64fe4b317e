/** What a poll worker says of their own wishes. */
import { expect, it } from 'vitest'
import { db } from '@/lib/db/client'
import { setWantedPosition, WishInput } from '@/lib/path/commands'
import { useDatabase } from '@/tests/support/database'
import { asWorker } from '../offers/support'
import { makeSmallCounty } from '../roster/support'

useDatabase()

it('keeps the work and the part of the day that somebody offers; what is left out stays', async () => {
  const c = await makeSmallCounty()
  const ana = asWorker(c.countyId, c.people.ana)
  const wish = (fields: object) => setWantedPosition(ana, WishInput.parse(fields))
  const kept = () =>
    db().pollWorker.findUniqueOrThrow({
      where: { id: c.people.ana },
      select: { wantsPositionKey: true, offersShift: true },
    })
  await wish({ positionKey: 'lead', offersShift: 'morning' })
  expect(await kept()).toEqual({ wantsPositionKey: 'lead', offersShift: 'morning' })
  await wish({ positionKey: 'check-in' })
  expect(await kept()).toEqual({ wantsPositionKey: 'check-in', offersShift: 'morning' })
  await expect(wish({ positionKey: 'nobody', offersShift: 'full' })).rejects.toMatchObject({
    code: 'INVALID_INPUT',
  })
  expect(await kept(), 'nothing half done').toMatchObject({ offersShift: 'morning' })
  expect(() => WishInput.parse({ positionKey: 'lead', offersShift: 'night' })).toThrow()
  const records = await db().auditRecord.findMany({ where: { event: 'worker.wish-set' } })
  expect(records.map((r) => r.detail)).toContainEqual({ positionKey: 'lead', offersShift: 'morning' })
})
