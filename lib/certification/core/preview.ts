import type { CivilDate } from '@/lib/kernel/dates'
import { holdsOn } from '@/lib/kernel/spans'
import type { ElectionDate, Fact, Policy } from '../schema'
import { openBook } from './evidence'
import { spansFromBook } from './spans-of'

export interface RulePreview {
  /** Ids of those who would hold the certificate on the date and now wouldn't. */
  gain: string[]
  /** Ids of those who would hold it now and no longer would. */
  lose: string[]
  /** How many hold it under both, and under neither. */
  keep: number
  neither: number
}

/** What publishing a changed policy would do to real people on a date (an election day), in the order given.
 *  O(people × (leaves × facts)). @throws RangeError for contradictory facts. */
export function previewRules(
  before: Policy,
  after: Policy,
  people: Iterable<{ id: string; facts: readonly Fact[] }>,
  elections: readonly ElectionDate[],
  date: CivilDate,
): RulePreview {
  const preview: RulePreview = { gain: [], lose: [], keep: 0, neither: 0 }
  for (const { id, facts } of people) {
    const book = openBook(facts)
    const held = holdsOn(spansFromBook(before, book, elections), date)
    const will = holdsOn(spansFromBook(after, book, elections), date)
    if (held && will) preview.keep++
    else if (held) preview.lose.push(id)
    else if (will) preview.gain.push(id)
    else preview.neither++
  }
  return preview
}
