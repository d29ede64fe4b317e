/** Lists as CSV files: read back by csv-parse, a parser that is not ours; nothing in them runs as a formula; personal
 *  columns only for those who may read them. */
import { parse } from 'csv-parse/sync'
import { beforeAll, expect, it, vi } from 'vitest'
import { GET as offersCsv } from '@/app/(office)/office/[county]/elections/[id]/offers/offers.csv/route'
import { GET as peopleCsv } from '@/app/(office)/office/[county]/people/people.csv/route'
import { GET as placesCsv } from '@/app/(office)/office/[county]/places/places.csv/route'
import { db } from '@/lib/db/client'
import type { Access } from '@/prisma/client/enums'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents, makeSmallCounty, type SmallCounty } from '../roster/support'

const asked = vi.hoisted(() => ({ actor: null as unknown }))
vi.mock('@/lib/auth/session', () => ({ currentActor: async () => asked.actor }))

useDatabase()
let c: SmallCounty
const FORMULA = '=HYPERLINK("http://x.example","a")'
beforeAll(async () => {
  c = await makeSmallCounty()
  await db().pollWorker.update({
    where: { id: c.people.ana! },
    data: {
      familyName: FORMULA,
      givenName: 'Ana, "A"',
      party: '@Maple',
      phone: '+1 555 0100',
      email: 'ana@example.org',
      homeAddress: '1 Hill\nRoad',
      languages: ['en', 'es'],
    },
  })
  await db().pollWorker.update({
    where: { id: c.people.ben! },
    data: { homeAddress: '-2 Secret Road', confidentialAddress: true },
  })
})

async function read(
  get: (request: Request, context: { params: Promise<never> }) => Promise<Response>,
  access: Access,
  query = '',
): Promise<Record<string, string>[]> {
  asked.actor = actorWith(access, c.countyId)
  const params = Promise.resolve({ county: c.countyId, id: c.electionId } as never)
  const answer = await get(new Request(`http://x.example/list.csv?${query}`), { params })
  expect(answer.status).toBe(200)
  expect(answer.headers.get('content-type')).toContain('text/csv')
  const bytes = Buffer.from(await answer.arrayBuffer())
  return parse(bytes, { bom: true, columns: true, record_delimiter: '\r\n' }) as Record<string, string>[]
}
const rowOf = (rows: Record<string, string>[], id: string) => rows.find((row) => row['First name'] === id)!

it('gives the people as they are filtered, with what a clerk may read, and runs no formula', async () => {
  const all = await read(peopleCsv, 'countyStaff')
  expect(all).toHaveLength(await db().pollWorker.count({ where: { countyId: c.countyId } }))
  expect(rowOf(all, 'Ana, "A"')).toMatchObject({
    // Guarded: OWASP's advice is a leading apostrophe.
    'Last name': `'${FORMULA}`,
    Party: "'@Maple",
    Telephone: "'+1 555 0100",
    'E-mail': 'ana@example.org',
    Address: '1 Hill\nRoad',
    Languages: 'English; Spanish',
    Active: 'yes',
  })
  expect(all.map((row) => row.Address)).toContain('protected')
  expect(JSON.stringify(all)).not.toContain('Secret')
  const maple = await read(peopleCsv, 'countyStaff', 'party=%40Maple')
  expect(maple.map((row) => row['First name'])).toEqual(['Ana, "A"'])
})

it('leaves personal columns out for those who may not read them', async () => {
  const [first] = await read(peopleCsv, 'trainer')
  for (const column of ['Party', 'Address', 'Telephone', 'E-mail'])
    expect(Object.keys(first!)).not.toContain(column)
  const rows = await read(peopleCsv, 'administrator')
  expect(Object.keys(rows[0]!)).not.toContain('Party')
  // Administrators may read protected addresses; a minus sign would begin a formula.
  expect(rows.map((row) => row.Address)).toContain("'-2 Secret Road")
})

it('gives places and offers, and writes each file into the audit chain', async () => {
  const places = await read(placesCsv, 'countyStaff')
  expect(places.map((row) => row['Place code']).sort()).toEqual(
    (await db().pollingPlace.findMany({ where: { countyId: c.countyId } })).map((p) => p.code).sort(),
  )
  expect(await read(offersCsv, 'countyStaff', 'show=all')).toEqual([])
  expect((await auditEvents(c.countyId)).filter((event) => event === 'list.exported').length).toBeGreaterThan(
    4,
  )
})
