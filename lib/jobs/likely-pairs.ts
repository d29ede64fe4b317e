import { keepPairs } from '@/lib/people/commands-merge'
import { type LikelyPair, likelyPairs, type Somebody } from '@/lib/people/core/duplicates'
import { listComparable } from '@/lib/people/queries-duplicates'
import { runInThread } from './thread'

const ENTRY = new URL('./likely-pairs-entry.ts', import.meta.url)
/** Up to so many people are compared in the runner itself: starting a thread takes longer. */
const SMALL = 3000
const LONGEST_MS = 10 * 60_000
/** More than this nobody looks through; the likeliest come first. */
const MOST = 2000

/** Looks for records of one person among a county's people and keeps the pairs. Safe to run twice. */
export async function findLikelyPairs(countyId: string): Promise<void> {
  const people = await listComparable(countyId)
  const pairs =
    people.length <= SMALL
      ? likelyPairs(people)
      : await runInThread<LikelyPair[], never>(
          ENTRY,
          { people },
          { onProgress: () => undefined, signal: AbortSignal.timeout(LONGEST_MS) },
        )
  await keepPairs(countyId, people.length, pairs.slice(0, MOST))
}

export type PairsWork = { people: Somebody[] }
