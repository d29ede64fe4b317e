import { describe, expect, it } from 'vitest'
import { mappingFor } from '@/lib/exchange/calc-input'
import { planPeople } from '@/lib/exchange/core/people'
import { planPlaces, readPlaces } from '@/lib/exchange/core/places'
import { readVipPlaces } from '@/lib/exchange/core/vip-places'
import { readFile } from '@/lib/exchange/read-file'
import { UnreadableFile } from '@/lib/exchange/table'
import { MALFORMED_KINDS, malformedFile } from '@/tests/support/malformed-files'

const COUNT = process.env.TEST_FULL === '1' ? 2000 : 200
const EMPTY = { places: [], precincts: [], profiles: null, defaultProfile: 'fern' }

async function* pieces(bytes: Buffer): AsyncGenerator<Uint8Array> {
  for (let i = 0; i < bytes.length; i += 4096) yield bytes.subarray(i, i + 4096)
}

/** Every error sentence that a file gets. */
async function errorsOf(kind: 'people' | 'places', bytes: Buffer): Promise<string[]> {
  try {
    const file = await readFile(pieces(bytes))
    const problems =
      file.kind === 'vip'
        ? planPlaces(readVipPlaces(file.vip, null), EMPTY).problems
        : kind === 'people'
          ? planPeople(file.table, mappingFor('people', file.table, undefined), {
              known: [],
              positions: null,
              year: 2026,
            }).problems
          : planPlaces(readPlaces(file.table, mappingFor('places', file.table, undefined)), EMPTY).problems
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
})
