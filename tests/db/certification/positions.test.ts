/** From nothing to somebody who may be seated: a county, its positions, its people, and training done elsewhere. */
import { expect, it } from 'vitest'
import type { Actor } from '@/lib/auth/actor'
import { makeCounty, NewCountyInput } from '@/lib/auth/counties'
import { revokeFact } from '@/lib/certification/commands'
import { EarlierTrainingInput, recordEarlierTraining } from '@/lib/certification/commands-earlier'
import {
  AdoptPositionsInput,
  adoptPositions,
  PositionInput,
  savePosition,
} from '@/lib/certification/commands-positions'
import { listEarlierTraining } from '@/lib/certification/queries-certificates'
import { db } from '@/lib/db/client'
import { applyImport, receiveImport } from '@/lib/exchange/commands'
import type { ImportKind } from '@/lib/exchange/core/fields'
import { getImport } from '@/lib/exchange/queries'
import { importFile } from '@/lib/jobs/import-file'
import { addDays, civilDateAt } from '@/lib/kernel/dates'
import { HoursInput, setHours } from '@/lib/places/commands'
import { seedIfEmpty } from '@/prisma/seed/seed'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents } from '../roster/support'

useDatabase()
const ZONE = 'America/Denver'
const today = () => civilDateAt(new Date(), ZONE)

async function bringIn(clerk: Actor, countyId: string, kind: ImportKind, text: string) {
  const { importId } = await receiveImport(
    clerk,
    { countyId, kind },
    `${kind}.csv`,
    (async function* () {
      yield Buffer.from(text)
    })(),
  )
  await importFile(importId)
  await applyImport(clerk, { countyId, importId })
  await importFile(importId)
  expect((await getImport(clerk, countyId, importId)).status).toBe('applied')
}

it('makes an empty county ready for a roster, each step on record', async () => {
  await seedIfEmpty({ today: today() })
  const state = actorWith('administrator', null)
  const wanted = NewCountyInput.parse({ name: 'Elm Creek County', timeZone: ZONE, equipmentProfile: 'moss' })
  const countyId = await makeCounty(state, wanted)
  expect(countyId).toBe('elm-creek')
  await expect(makeCounty(state, wanted)).rejects.toMatchObject({ code: 'CONFLICT' })
  await expect(
    makeCounty(state, { ...wanted, name: 'State County' }),
    'the name of the state’s own audit chain',
  ).rejects.toMatchObject({ code: 'INVALID_INPUT' })

  const clerk = actorWith('countyStaff', countyId)
  const adopt = (template: string[], citation = 'Elm Creek procedure 3') =>
    adoptPositions(
      clerk,
      AdoptPositionsInput.parse({
        countyId,
        template,
        effectiveFrom: today(),
        citation,
        earlierMonths: '12',
        checked: 'yes',
      }),
    )
  const template = "Larkmoor template, no legal source: replace with your county's own citation."
  await expect(adopt(['lead'], template)).rejects.toMatchObject({ code: 'INVALID_INPUT' })
  expect(await db().position.count({ where: { countyId } }), 'nothing half done').toBe(0)
  expect(await adopt(['lead', 'check-in'])).toBe(2)
  expect(await adopt(['lead', 'deputy']), 'what is there stays').toBe(1)
  expect(await db().ruleSet.count({ where: { countyId } })).toBe(3)
  await savePosition(
    clerk,
    PositionInput.parse({
      countyId,
      key: '',
      nameEn: 'Greeter',
      nameEs: 'Anfitrión',
      rank: '9',
      certificateKey: 'check-in',
    }),
  )

  await bringIn(
    clerk,
    countyId,
    'places',
    'code,name,address,lat,lon,precinct,voters\n1,Hall,1 A St,39.7,-105,1,900\n2,Gym,2 A St,39.8,-105,2,700\n',
  )
  const hours = HoursInput.parse({ countyId, opensAt: '07:00', closesAt: '19:00' })
  expect([await setHours(clerk, hours), await setHours(clerk, hours)]).toEqual([2, 0])
  await bringIn(clerk, countyId, 'people', 'number,first name,last name\nN1,Ada,Elm\nN2,Bo,Elm\nN3,Cy,Elm\n')
  await bringIn(
    clerk,
    countyId,
    'training',
    `number,position,trained on,trainer\nN1,Lead,${addDays(today(), -30)},R. Hill\nN2,Greeter,${addDays(today(), -60)},R. Hill\nN3,Lead,${addDays(today(), -400)},R. Hill\n`,
  )
  const held = await db().certificateSpan.findMany({
    where: { countyId, validUntil: { gt: today() } },
    select: { certificateKey: true, validFrom: true, pollWorker: { select: { countyRef: true } } },
    orderBy: { pollWorker: { countyRef: 'asc' } },
  })
  // A rule judges from its own first day on. N3 was trained more than twelve months ago.
  expect(held).toEqual([
    { certificateKey: 'lead', validFrom: today(), pollWorker: { countyRef: 'N1' } },
    { certificateKey: 'check-in', validFrom: today(), pollWorker: { countyRef: 'N2' } },
  ])
  const [fact] = await db().fact.findMany({ where: { countyId, pollWorker: { countyRef: 'N1' } } })
  expect(fact).toMatchObject({ kind: 'earlierTraining', witnessedBy: 'R. Hill', recordedBy: clerk.accountId })
  // The same deed by hand is there already; another one counts until it is taken back.
  const n3 = await db().pollWorker.findFirstOrThrow({ where: { countyId, countyRef: 'N3' } })
  const by = (workerId: string, on: string) =>
    recordEarlierTraining(
      clerk,
      EarlierTrainingInput.parse({ countyId, workerId, certificateKey: 'lead', on, saidBy: 'R. Hill' }),
    )
  await expect(by(n3.id, addDays(today(), -400))).rejects.toMatchObject({ code: 'CONFLICT' })
  await expect(by(n3.id, addDays(today(), 3))).rejects.toMatchObject({ code: 'INVALID_INPUT' })
  await by(n3.id, addDays(today(), -1))
  const holds = () =>
    db().certificateSpan.count({ where: { pollWorkerId: n3.id, validUntil: { gt: addDays(today(), 1) } } })
  expect(await holds()).toBe(1)
  const [newest] = await listEarlierTraining(clerk, countyId, n3.id)
  await revokeFact(clerk, { factId: newest!.id, reason: 'another person' })
  expect(await holds()).toBe(0)
  expect((await listEarlierTraining(clerk, countyId, n3.id)).map((t) => t.takenBack)).toEqual([true, false])
  const events = await auditEvents(countyId)
  for (const event of [
    'county.made',
    'position.made',
    'rules.published',
    'places.hours-set',
    'import.applied',
  ])
    expect(events).toContain(event)
})
