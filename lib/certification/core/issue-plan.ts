import type { CivilDate } from '@/lib/kernel/dates'
import { laterOf } from '@/lib/kernel/dates'
import type { Span } from '@/lib/kernel/spans'

export interface OpenIssue extends Span {
  id: string
}

export interface IssuePlan {
  /** Spans that no issue states yet. */
  issue: Span[]
  /** Ids of issues that claim a day, from today on, that no span covers. */
  withdraw: string[]
}

const endsAfter = (span: Span, day: CivilDate) => span.until === null || day < span.until
const reaches = (span: Span, until: CivilDate | null) =>
  span.until === null || (until !== null && until <= span.until)

/** What brings the issued certificates of one person and kind in line with the spans. Spans that have ended by today
 *  get none any more; an issue that states less than holds now stays true and runs out by itself.
 *  O(spans × issues). The plan for its own outcome is empty. */
export function issuePlan(spans: readonly Span[], issues: readonly OpenIssue[], today: CivilDate): IssuePlan {
  const current = spans.filter((span) => endsAfter(span, today))
  const stated = issues.filter((issue) => endsAfter(issue, today))
  return {
    issue: current.filter((span) => !stated.some((i) => i.from === span.from && i.until === span.until)),
    withdraw: stated
      .filter((issue) => {
        const from = laterOf(issue.from, today)
        return !current.some((span) => span.from <= from && reaches(span, issue.until))
      })
      .map((issue) => issue.id),
  }
}
