import { describe, expect, it } from 'vitest'
import { db } from '@/lib/db/client'
import {
  CorrectionInput,
  correctPerson,
  ExclusionInput,
  excludePerson,
  PayInput,
  recordPay,
  takeBackExclusion,
  takeBackPay,
  writeNote,
} from '@/lib/people/commands-office'
import {
  PayRatesInput,
  ServiceRulesInput,
  setPayRates,
  setServiceRules,
} from '@/lib/people/commands-settings'
import { payFor } from '@/lib/people/pay'
import { getHistory } from '@/lib/people/queries-history'
import { exportRecordOf } from '@/lib/record/commands'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents, HELD_ON, makeSmallCounty, type SmallCounty } from '../roster/support'

useDatabase()

const plain = (c: SmallCounty, more: object = {}) =>
  CorrectionInput.parse({
    countyId: c.countyId,
    workerId: c.people.ana,
    givenName: 'Ana',
    familyName: 'Test',
    birthYear: '',
    phone: '',
    email: '',
    languages: 'en',
    ...more,
  })

describe('correcting what is known of a person', () => {
  it('saves what changed and names the changed fields alone in the audit', async () => {
    const c = await makeSmallCounty()
    await correctPerson(
      c.clerk,
      plain(c, { email: 'ANA@example.org', birthYear: '1956', languages: 'en; ES' }),
    )
    expect(await db().pollWorker.findUnique({ where: { id: c.people.ana } })).toMatchObject({
      email: 'ana@example.org',
      birthYear: 1956,
      languages: ['en', 'es'],
    })
    await correctPerson(
      c.clerk,
      plain(c, { email: 'ana@example.org', birthYear: '1956', languages: 'en,es' }),
    )
    const records = await db().auditRecord.findMany({ where: { chain: c.countyId } })
    expect(records).toHaveLength(1)
    expect(records[0]).toMatchObject({
      event: 'worker.corrected',
      detail: { changed: ['birthYear', 'email', 'languages'] },
    })
    expect(JSON.stringify(records)).not.toContain('example.org')
  })

  it('says that the point on the map is still that of the old address', async () => {
    const c = await makeSmallCounty()
    const at = { homeLat: '42.1', homeLon: '-91' }
    const save = (more: object) => correctPerson(c.clerk, plain(c, more))
    // Ana lives at 42.1, -91.
    expect(await save({ homeAddress: '1 New Road', ...at })).toEqual({ oldPoint: true })
    expect(await save({ homeAddress: '1 New Road', ...at })).toEqual({ oldPoint: false })
    expect(await save({ homeAddress: '2 New Road', homeLat: '42.2', homeLon: '-91' })).toEqual({
      oldPoint: false,
    })
  })

  it('knows a home precinct by its code, and names one that exists', async () => {
    const c = await makeSmallCounty()
    const home = (homePrecinct: string, more: object = {}) =>
      correctPerson(c.clerk, plain(c, { homePrecinct, ...more }))
    await expect(home('N-7')).rejects.toMatchObject({
      fields: { homePrecinct: expect.stringMatching(/no precincts yet/) },
    })
    await db().precinct.create({
      data: { countyId: c.countyId, code: 'N-7', name: 'North', registeredVoters: 900, lat: 42, lon: -91 },
    })
    await expect(home('N7')).rejects.toMatchObject({
      fields: { homePrecinct: expect.stringMatching(/“N7”.*N-7 \(North\)/) },
    })
    const kept = async () =>
      (await db().pollWorker.findUniqueOrThrow({ where: { id: c.people.ana } })).homePrecinct
    expect(await kept()).toBeNull()
    await home('n-7')
    expect(await kept()).toBe('N-7')
    // Another county's code is not ours to check.
    await home('X 12', { livesOutside: 'yes' })
    expect(await kept()).toBe('X 12')
  })

  it('refuses what makes no sense, and writes nothing of it', async () => {
    const c = await makeSmallCounty()
    for (const more of [
      { email: 'nowhere' },
      { birthYear: '1066' },
      { languages: 'english' },
      { givenName: ' ' },
    ])
      expect(() => plain(c, more), JSON.stringify(more)).toThrow()
    await expect(
      correctPerson(c.clerk, plain(c, { phone: '5', homeLat: '42', homeLon: '' })),
    ).rejects.toMatchObject({ code: 'INVALID_INPUT' })
    expect(await db().pollWorker.findUnique({ where: { id: c.people.ana } })).toMatchObject({ phone: null })
  })

  it('leaves a protected address to an administrator, and party to those who may read it', async () => {
    const c = await makeSmallCounty()
    await correctPerson(c.clerk, plain(c, { confidentialAddress: 'yes', homeAddress: '1 Way', party: 'Oak' }))
    for (const more of [{ homeAddress: '2 Way' }, { confidentialAddress: 'no' }])
      await expect(correctPerson(c.clerk, plain(c, more))).rejects.toMatchObject({ code: 'FORBIDDEN' })
    const administrator = actorWith('administrator', c.countyId)
    await expect(correctPerson(administrator, plain(c, { party: 'Elm' }))).rejects.toMatchObject({
      code: 'FORBIDDEN',
    })
    await correctPerson(administrator, plain(c, { homeAddress: '2 Way' }))
    expect(await db().pollWorker.findUnique({ where: { id: c.people.ana } })).toMatchObject({
      homeAddress: '2 Way',
      confidentialAddress: true,
      party: 'Oak',
    })
  })

  it('is for the county’s office alone', async () => {
    const c = await makeSmallCounty()
    for (const [actor, code] of [
      [actorWith('trainer', c.countyId), 'FORBIDDEN'],
      [actorWith('countyStaff', 'elsewhere'), 'NOT_FOUND'],
    ] as const) {
      await expect(correctPerson(actor, plain(c))).rejects.toMatchObject({ code })
      await expect(exportRecordOf(actor, c.countyId, c.people.ana)).rejects.toMatchObject({ code })
    }
    const other = await makeSmallCounty()
    await expect(correctPerson(c.clerk, { ...plain(c), workerId: other.people.ana })).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
  })
})

describe('what the office writes down', () => {
  it('stands in the person’s history, newest first, and not for trainers', async () => {
    const c = await makeSmallCounty()
    const who = { countyId: c.countyId, workerId: c.people.ana }
    await writeNote(c.clerk, { ...who, text: 'Likes the north hall.' })
    const exclusion = ExclusionInput.parse({
      ...who,
      kind: 'relative',
      placeCode: 'n',
      firstOn: HELD_ON,
      lastOn: '',
      note: '',
    })
    await excludePerson(c.clerk, exclusion)
    const history = await getHistory(c.clerk, c.countyId, c.people.ana)
    expect(history.entries).toMatchObject([{ kind: 'note', text: 'Likes the north hall.' }])
    expect(history.exclusions).toMatchObject([{ kind: 'relative', place: 'Hall N', lastOn: null }])
    const seen = await getHistory(actorWith('trainer', c.countyId), c.countyId, c.people.ana)
    expect(seen.entries).toEqual([])
    expect(seen).not.toHaveProperty('exclusions')
    const back = { ...who, id: history.exclusions![0]!.id }
    await takeBackExclusion(c.clerk, back)
    await takeBackExclusion(c.clerk, back)
    expect((await getHistory(c.clerk, c.countyId, c.people.ana)).exclusions![0]!.takenBackOn).not.toBeNull()
    expect(await auditEvents(c.countyId)).toEqual([
      'worker.note-written',
      'worker.excluded',
      'worker.exclusion-taken-back',
    ])
    await expect(excludePerson(c.clerk, { ...exclusion, placeCode: 'nowhere' })).rejects.toMatchObject({
      fields: { placeCode: expect.stringContaining('code') },
    })
    expect(() => ExclusionInput.parse({ ...exclusion, lastOn: '2028-01-01' })).toThrow(/before the first/)
  })

  it('is handed over on request, less an address that the office may not read', async () => {
    const c = await makeSmallCounty()
    await db().pollWorker.update({
      where: { id: c.people.ana },
      data: { homeAddress: '1 Secret Way', confidentialAddress: true, party: 'Oak' },
    })
    await writeNote(c.clerk, { countyId: c.countyId, workerId: c.people.ana, text: 'A note.' })
    const record = await exportRecordOf(c.clerk, c.countyId, c.people.ana)
    expect(record.parts.notes).toMatchObject([{ text: 'A note.' }])
    expect(record.parts.person).toMatchObject([
      { party: 'Oak', homeAddress: 'not shown', homeLat: 'not shown' },
    ])
    const whole = await exportRecordOf(actorWith('administrator', c.countyId), c.countyId, c.people.ana)
    expect(whole.parts.person).toMatchObject([{ party: 'not shown', homeAddress: '1 Secret Way' }])
    expect((await auditEvents(c.countyId)).at(-1)).toBe('worker.record-exported')
  })
})

describe('pay', () => {
  it('is the rate for the day and the hours, half a cent rounded up', () => {
    // 150 $ for the day, or 12 $ an hour for 14 hours: 168 $; both: 318 $.
    expect(payFor({ perDayCents: 15000, perHourCents: 0 }, 840)).toBe(15000)
    expect(payFor({ perDayCents: 0, perHourCents: 1200 }, 840)).toBe(16800)
    expect(payFor({ perDayCents: 15000, perHourCents: 1200 }, 840)).toBe(31800)
    // 12.51 $ × 10 minutes = 2.085 $.
    expect(payFor({ perDayCents: 0, perHourCents: 1251 }, 10)).toBe(209)
  })

  it('keeps the rate of its day; a day is recorded once, and again only after it was taken back', async () => {
    const c = await makeSmallCounty()
    const rates = (perHour: string) =>
      setPayRates(
        c.clerk,
        PayRatesInput.parse({
          countyId: c.countyId,
          position: ['lead', 'check-in'],
          perDay: ['', ''],
          perHour: [perHour, ''],
        }),
      )
    const past = await db().election.create({
      data: { countyId: c.countyId, name: 'Spring primary', kind: 'primary', heldOn: '2026-04-07' },
    })
    const input = (positionKey = 'lead', servedOn = '2026-04-07', electionId = past.id) =>
      PayInput.parse({
        countyId: c.countyId,
        workerId: c.people.ana,
        electionId,
        positionKey,
        servedOn,
        hours: '14.5',
        note: '',
      })
    await expect(recordPay(c.clerk, input())).rejects.toMatchObject({ code: 'INVALID_INPUT' })
    await rates('$12')
    const refused = (servedOn: string, electionId = past.id) =>
      recordPay(c.clerk, input('lead', servedOn, electionId)).then(
        () => null,
        (error) => error.fields?.servedOn as string,
      )
    expect(await refused(HELD_ON, c.electionId)).toMatch(/future/)
    // A week around the one day of the election: setting up and taking back.
    expect(await refused('2026-03-30')).toMatch(
      /Spring primary is on April 7, 2026; .* more than a week away/,
    )
    expect(await refused('2026-04-15')).toMatch(/more than a week away/)
    expect((await getHistory(c.clerk, c.countyId, c.people.ana)).pay).toEqual([])
    await recordPay(c.clerk, input())
    await rates('13.50')
    const row = async () => (await getHistory(c.clerk, c.countyId, c.people.ana)).pay!
    // 14.5 × 12 $ = 174 $.
    expect(await row()).toMatchObject([{ amountCents: 17400, takenBack: false }])
    await expect(recordPay(c.clerk, input())).rejects.toMatchObject({ code: 'CONFLICT' })
    await expect(recordPay(c.clerk, input('check-in'))).rejects.toMatchObject({ code: 'INVALID_INPUT' })
    await takeBackPay(c.clerk, { countyId: c.countyId, workerId: c.people.ana, id: (await row())[0]!.id })
    await recordPay(c.clerk, input())
    // 14.5 × 13.50 $ = 195.75 $.
    expect((await row()).filter((p) => !p.takenBack)).toMatchObject([{ amountCents: 19575 }])
    await expect(rates('a lot')).rejects.toMatchObject({ code: 'INVALID_INPUT' })
  })

  it('and the rules on who serves are set by the office, not by trainers', async () => {
    const c = await makeSmallCounty()
    const input = ServiceRulesInput.parse({
      countyId: c.countyId,
      students: 'no',
      studentsFromAge: '',
      studentsPerCrew: '',
      nominated: 'alike',
      residents: 'county',
      citation: 'Code 1',
    })
    await expect(setServiceRules(actorWith('trainer', c.countyId), input)).rejects.toMatchObject({
      code: 'FORBIDDEN',
    })
    await setServiceRules(c.clerk, input)
    const { rules } = await getHistory(c.clerk, c.countyId, c.people.ana)
    expect(rules).toEqual({
      students: 'no',
      studentsFromAge: null,
      studentsPerCrew: null,
      nominated: 'alike',
      residents: 'county',
      citation: 'Code 1',
    })
    expect(await auditEvents(c.countyId)).toEqual(['county.settings-changed'])
  })
})
