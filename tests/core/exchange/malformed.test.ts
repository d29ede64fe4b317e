import { describe, expect, it } from 'vitest'
import { mappingFor } from '@/lib/exchange/calc-input'
import type { ImportKind } from '@/lib/exchange/core/fields'
import { planPeople } from '@/lib/exchange/core/people'
import { planPlaces, readPlaces } from '@/lib/exchange/core/places'
import { planNominations, planService, planTraining } from '@/lib/exchange/core/service'
import { readVipPlaces } from '@/lib/exchange/core/vip-places'
import { readFile } from '@/lib/exchange/read-file'
import { type Table, UnreadableFile } from '@/lib/exchange/table'
import { civilDate } from '@/lib/kernel/dates'
import { MALFORMED_KINDS, malformedFile, soundFiles } from '@/tests/support/malformed-files'

const COUNT = process.env.TEST_FULL === '1' ? 2000 : 200
const POSITIONS = [{ key: 'check-in', names: ['Check-in'] }]
const PEOPLE = Array.from({ length: 32 }, (_, i) => ({
  id: `p${i}`,
  countyRef: String(1000 + i),
  givenName: 'Ana',
  familyName: `Lee${i}`,
  birthYear: null,
  countsAs: `p${i}`,
}))
const EMPTY = { places: [], precincts: [], profiles: null, defaultProfile: 'fern' }

async function* pieces(bytes: Buffer): AsyncGenerator<Uint8Array> {
  for (let i = 0; i < bytes.length; i += 4096) yield bytes.subarray(i, i + 4096)
}

function problemsOf(kind: ImportKind, table: Table) {
  const mapping = mappingFor(kind, table, undefined)
  const today = civilDate('2026-11-25')
  const ground = { people: PEOPLE, positions: POSITIONS, today }
  switch (kind) {
    case 'people':
      return planPeople(table, mapping, { known: [], positions: null, year: 2026 }).problems
    case 'places':
      return planPlaces(readPlaces(table, mapping), EMPTY).problems
    case 'service':
      return planService(table, mapping, { ...ground, electionDays: [], known: new Set() }).problems
    case 'training': {
      const certificates = new Map([['check-in', 'basic']])
      return planTraining(table, mapping, { ...ground, certificates, saidBy: null, known: new Set() })
        .problems
    }
    case 'nominations':
      return planNominations(table, mapping, { ...ground, party: null, listedOn: null, known: new Map() })
        .problems
  }
}

/** Every error sentence that a file gets. */
async function errorsOf(kind: ImportKind, bytes: Buffer): Promise<string[]> {
  try {
    const file = await readFile(pieces(bytes))
    const problems =
      file.kind === 'vip'
        ? planPlaces(readVipPlaces(file.vip, null), EMPTY).problems
        : problemsOf(kind, file.table)
    return problems.filter((p) => p.severity === 'error').map((p) => p.message)
  } catch (error) {
    if (error instanceof UnreadableFile) return [error.message]
    throw error
  }
}

describe(`${COUNT} malformed files`, () => {
  it(`of ${MALFORMED_KINDS.length} kinds each get a sentence that says what is wrong and what to do`, async () => {
    const silent: string[] = []
    for (let seed = 0; seed < COUNT; seed++) {
      const file = await malformedFile(seed)
      const told = await errorsOf(file.kind, file.bytes)
      if (!told.some((sentence) => file.says.test(sentence) && sentence.length > 20))
        silent.push(`${seed} ${file.what}: ${JSON.stringify(told.slice(0, 3))}`)
    }
    expect(silent).toEqual([])
  }, 900_000)

  it('are made from files that are read without an error', async () => {
    // Else a kind could pass for a reason that is not its own.
    for (const { kind, bytes } of soundFiles())
      expect([kind, await errorsOf(kind, bytes)]).toEqual([kind, []])
  })
})
