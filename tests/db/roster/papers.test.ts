import { describe, expect, it } from 'vitest'
import { verifyChain } from '@/lib/audit/verify'
import { db } from '@/lib/db/client'
import { makePapers } from '@/lib/jobs/make-papers'
import { writePaper } from '@/lib/jobs/write-paper'
import { writePdf } from '@/lib/papers/pdf'
import { cancelPapers, endPapers, reportPapers, requestPapers } from '@/lib/roster/commands-papers'
import { type PaperKey, placePaper } from '@/lib/roster/papers/papers'
import { getPaperFile, getPapersPage, getPlacePacket, loadPacketGround } from '@/lib/roster/queries-packet'
import { useDatabase } from '@/tests/support/database'
import { canReadPdf, pagesOf, textOf } from '@/tests/support/read-pdf'
import { actorWith, auditEvents, makeSmallCounty, type SmallCounty, seat } from './support'

useDatabase()

async function countyWithCrew(): Promise<SmallCounty> {
  const c = await makeSmallCounty()
  await seat(c, c.seats.northLead, c.people.ana)
  await seat(c, c.seats.northCheckIn, c.people.ben)
  await db().pollWorker.update({ where: { id: c.people.ana }, data: { phone: '555-0101' } })
  await db().pollWorker.update({ where: { id: c.people.ben }, data: { languages: ['es'] } })
  await db().pollingPlace.update({
    where: { id: c.places.north },
    data: { contactName: 'Pat Warden', contactPhone: '555-0199', keysNote: 'Keys at the desk' },
  })
  return c
}
const paperOf = async (c: SmallCounty, key: PaperKey) => {
  const { ground, place } = await getPlacePacket(c.clerk, c.countyId, c.electionId, c.places.north)
  return writePdf(placePaper(key, ground, [place]))
}

describe.runIf(canReadPdf)('the papers of a place, read back by another program', () => {
  it('carry the morning: crew with phones, whom to call, map, sign-in, reconciliation, job aids', async () => {
    const c = await countyWithCrew()
    const text = textOf(await paperOf(c, 'packet'))
    for (const words of [
      'Ana Test',
      '555-0101',
      'Ben Test',
      'Pat Warden, 555-0199',
      'Keys at the desk',
      'Map of the nearest places',
      'north is up',
      'Sign-in sheet',
      'Hoja de registro',
      'Reconciliation form',
      'Formulario de conciliación',
      'Votantes que se registraron',
      'Job aids: Fern set',
      // Ben is written to in Spanish; his position is named so, too.
      'Hoja del lugar',
      'Guías de trabajo:',
      '(DRAFT, 2 changes)',
    ])
      expect(text, words).toContain(words)
    expect(text).toMatch(/\b(1|2|5|10) mi/)
  })

  it('leave the Spanish job aids out where nobody of the crew is written to in Spanish', async () => {
    const c = await countyWithCrew()
    await db().pollWorker.update({ where: { id: c.people.ben }, data: { languages: ['en'] } })
    const text = textOf(await paperOf(c, 'packet'))
    expect(text).toContain('Job aids')
    expect(text).not.toContain('Guías de trabajo')
  })

  it('print a badge for each person, in the language that they are written to in', async () => {
    const c = await countyWithCrew()
    const pdf = await paperOf(c, 'badges')
    expect(pagesOf(pdf)).toBe(1)
    const text = textOf(pdf)
    // The small county's Spanish names: 'E' for lead, 'R' for check-in.
    expect(text).toContain('POLL WORKER')
    expect(text).toMatch(/TRABAJADOR\(A\) ELECTORAL/)
    expect(text).toMatch(/Lead\s+R\s/)
  })
})

describe('the packet of a county', () => {
  it('has everybody in files of their own where they are too many for one', async () => {
    const c = await countyWithCrew()
    const ground = await loadPacketGround(c.electionId)
    const text = async (kind: 'county' | 'everybody', placeIds: string[]) =>
      textOf(Buffer.from((await writePaper({ ground, part: { kind, placeIds } })).content))
    const crews = await text('everybody', [c.places.north])
    expect(crews).toContain('Ben Test')
    expect(crews).not.toContain('Standby')
    const county = await text('county', [])
    // The lead stands with the places; the others in the files.
    expect(county).toContain('Ana Test')
    expect(county).not.toContain('Ben Test')
    expect(county).toContain('files of their own')
    expect(await text('county', [c.places.north])).toContain('Ben Test')
  })

  it('is made by the job, keeps its files, takes the place of the one before, and is audited', async () => {
    const c = await countyWithCrew()
    const { orderId } = await requestPapers(c.clerk, { electionId: c.electionId })
    await expect(requestPapers(c.clerk, { electionId: c.electionId })).rejects.toThrow(/being made already/)
    await makePapers(orderId, { withoutThreads: true })
    const page = await getPapersPage(c.clerk, c.countyId, c.electionId, '')
    expect(page.done?.files.map((f) => f.title)).toEqual([
      'The county: leads, map, everybody, standby',
      'Packets of the places N–S',
      'Name badges of the places N–S',
    ])
    expect(page.done?.outdated).toBe(false)
    const file = await getPaperFile(c.clerk, c.countyId, c.electionId, orderId, 1)
    if (canReadPdf) {
      const pdf = Buffer.from(file.content)
      expect(pagesOf(pdf)).toBe(page.done?.files[0]?.pages)
      // Cleo is certified and free in the morning; Dan has no certificate, Eve is away.
      expect(textOf(pdf)).toMatch(/Standby[\s\S]*Cleo Test/)
      expect(textOf(pdf)).not.toMatch(/Eve Test|Dan Test/)
    }
    const again = await requestPapers(c.clerk, { electionId: c.electionId })
    await makePapers(again.orderId, { withoutThreads: true })
    await expect(getPaperFile(c.clerk, c.countyId, c.electionId, orderId, 1)).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
    expect((await auditEvents(c.countyId)).slice(-4)).toEqual([
      'papers.asked',
      'papers.made',
      'papers.asked',
      'papers.made',
    ])
    expect((await verifyChain(db(), c.countyId)).status).toBe('whole')
  })

  it('is stopped while it waits and while it is made, without files, and the earlier one stays', async () => {
    const c = await countyWithCrew()
    const first = await requestPapers(c.clerk, { electionId: c.electionId })
    await cancelPapers(c.clerk, { electionId: c.electionId })
    await makePapers(first.orderId)
    expect((await getPapersPage(c.clerk, c.countyId, c.electionId, '')).newest?.status).toBe('cancelled')
    const second = await requestPapers(c.clerk, { electionId: c.electionId })
    const making = makePapers(second.orderId)
    while ((await db().paperFile.count({ where: { orderId: second.orderId } })) === 0)
      await new Promise((resolve) => setTimeout(resolve, 50))
    await cancelPapers(c.clerk, { electionId: c.electionId })
    await making
    const { newest } = await getPapersPage(c.clerk, c.countyId, c.electionId, '')
    expect(newest).toMatchObject({ status: 'cancelled', files: [] })
    expect(await reportPapers(second.orderId, { stage: 'x', share: 0.5 })).toBe(false)
    await endPapers(second.orderId, { status: 'failed' })
    expect((await getPapersPage(c.clerk, c.countyId, c.electionId, '')).newest?.status).toBe('cancelled')
  })

  it('is for those who may read the roster of this county', async () => {
    const c = await countyWithCrew()
    for (const [actor, code] of [
      [actorWith('trainer', c.countyId), 'FORBIDDEN'],
      [actorWith('countyStaff', 'elsewhere'), 'NOT_FOUND'],
    ] as const) {
      await expect(requestPapers(actor, { electionId: c.electionId })).rejects.toMatchObject({ code })
      await expect(getPlacePacket(actor, c.countyId, c.electionId, c.places.north)).rejects.toMatchObject({
        code,
      })
      await expect(getPapersPage(actor, c.countyId, c.electionId, '')).rejects.toMatchObject({ code })
    }
    const other = await makeSmallCounty()
    await expect(getPlacePacket(c.clerk, c.countyId, c.electionId, other.places.north)).rejects.toMatchObject(
      { code: 'NOT_FOUND' },
    )
  })
})
