/** A large county in one file. Only with TEST_FULL=1: it takes a minute. */
import { describe, expect, it } from 'vitest'
import { db } from '@/lib/db/client'
import { applyImport, receiveImport } from '@/lib/exchange/commands'
import { getImport } from '@/lib/exchange/queries'
import { importFile } from '@/lib/jobs/import-file'
import { findLikelyPairs } from '@/lib/jobs/likely-pairs'
import { seededRandom } from '@/lib/kernel/random'
import { askForPairs } from '@/lib/people/commands-merge'
import { useDatabase } from '@/tests/support/database'
import { makeSmallCounty } from '../roster/support'

useDatabase()

const COUNT = 30_000
const random = seededRandom(30)
const word = (n: number) =>
  Array.from({ length: n }, () =>
    random.pick(['ka', 'lo', 'mer', 'tin', 'sa', 'ro', 'bel', 'dun', 'vi']),
  ).join('')
const PEOPLE = Array.from(
  { length: COUNT },
  (_, i) =>
    `${i},${word(2)},${word(3)},${1940 + random.below(60)},p${i}@example.org,555${String(i).padStart(7, '0')},${1 + random.below(900)} ${word(2)} Street`,
)
const file = (change: (line: string, i: number) => string = (line) => line) =>
  Buffer.from(`id,first name,last name,birth year,email,phone,address\n${PEOPLE.map(change).join('\n')}\n`)

async function* once(bytes: Buffer): AsyncGenerator<Uint8Array> {
  for (let i = 0; i < bytes.length; i += 65_536) yield bytes.subarray(i, i + 65_536)
}

describe.runIf(process.env.TEST_FULL === '1')(`a county of ${COUNT} people`, () => {
  it('comes in from one file, changes from a second, and has its doubles found', async () => {
    const c = await makeSmallCounty()
    const seconds: Record<string, number> = {}
    const time = async <T>(name: string, work: () => Promise<T>): Promise<T> => {
      const began = performance.now()
      const result = await work()
      seconds[name] = Math.round((performance.now() - began) / 100) / 10
      return result
    }
    const run = async (name: string, bytes: Buffer) => {
      const { importId } = await receiveImport(
        c.clerk,
        { countyId: c.countyId, kind: 'people' },
        'f',
        once(bytes),
      )
      await time(`${name}: dry run`, () => importFile(importId))
      const view = await getImport(c.clerk, c.countyId, importId)
      await applyImport(c.clerk, { countyId: c.countyId, importId })
      await time(`${name}: write`, () => importFile(importId))
      expect((await getImport(c.clerk, c.countyId, importId)).status).toBe('applied')
      return view.outcome!
    }
    expect(await run('new', file())).toMatchObject({ create: COUNT, change: 0, errors: 0 })
    expect(await db().pollWorker.count({ where: { countyId: c.countyId } })).toBe(COUNT + 5)
    expect(
      await run(
        'changed',
        file((l, i) => (i % 3 === 0 ? l.replace('@example', '@changed') : l)),
      ),
    ).toMatchObject({
      create: 0,
      change: COUNT / 3,
      same: (2 * COUNT) / 3,
    })
    await askForPairs(c.clerk, c)
    await time('likely pairs', () => findLikelyPairs(c.countyId))
    console.log(seconds)
  }, 600_000)
})
