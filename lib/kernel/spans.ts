import type { CivilDate } from './dates'

/** A half-open interval of civil dates: valid on `from`, no longer on `until`; `null` is open-ended. */
export interface Span {
  from: CivilDate
  until: CivilDate | null
}

/** Sorted, disjoint, non-touching, non-empty spans. The empty array is 'never'. */
export type SpanSet = readonly Span[]

const FOREVER = '9999-99-99' as CivilDate
const endOf = (span: Span): CivilDate => span.until ?? FOREVER
const span = (from: CivilDate, end: CivilDate): Span => ({ from, until: end === FOREVER ? null : end })

/** Puts any spans in order, joins those that overlap or touch, drops the empty ones. O(n log n). */
export function normalise(spans: readonly Span[]): Span[] {
  const sorted = spans
    .filter((s) => s.from < endOf(s))
    .sort((a, b) => (a.from < b.from ? -1 : a.from > b.from ? 1 : 0))
  const out: Span[] = []
  for (const s of sorted) {
    const last = out.at(-1)
    if (last && s.from <= endOf(last)) {
      if (endOf(last) < endOf(s)) last.until = s.until
    } else out.push({ ...s })
  }
  return out
}

/** Days in either set. */
export const union = (a: SpanSet, b: SpanSet): Span[] => normalise([...a, ...b])

/** Days in both sets. O(a + b). */
export function intersect(a: SpanSet, b: SpanSet): Span[] {
  const out: Span[] = []
  for (let i = 0, j = 0; i < a.length && j < b.length; ) {
    const x = a[i]!
    const y = b[j]!
    const from = x.from < y.from ? y.from : x.from
    const end = endOf(x) < endOf(y) ? endOf(x) : endOf(y)
    if (from < end) out.push(span(from, end))
    if (endOf(x) < endOf(y)) i++
    else j++
  }
  return out
}

/** Days in `a` that are not in `b`. */
export function subtract(a: SpanSet, b: SpanSet): Span[] {
  let rest: Span[] = a.map((s) => ({ ...s }))
  for (const cut of b) {
    rest = rest.flatMap((s) => {
      if (endOf(s) <= cut.from || endOf(cut) <= s.from) return [s]
      const parts: Span[] = []
      if (s.from < cut.from) parts.push({ from: s.from, until: cut.from })
      if (endOf(cut) < endOf(s)) parts.push({ from: cut.until as CivilDate, until: s.until })
      return parts
    })
  }
  return rest
}

/** Days on which at least `count` of the sets hold. `count` ≤ 0 is every day. O(total log total). */
export function atLeast(count: number, sets: readonly SpanSet[]): Span[] {
  if (count <= 0) return EVERY_DAY.map((s) => ({ ...s }))
  const steps = sets.flatMap((set) =>
    set.flatMap((s) => [
      { on: s.from, by: 1 },
      { on: endOf(s), by: -1 },
    ]),
  )
  steps.sort((a, b) => (a.on < b.on ? -1 : a.on > b.on ? 1 : 0))
  const out: Span[] = []
  let held = 0
  let from: CivilDate | null = null
  for (let i = 0; i < steps.length; ) {
    const on = steps[i]!.on
    for (; i < steps.length && steps[i]!.on === on; i++) held += steps[i]!.by
    if (held >= count && from === null) from = on
    else if (held < count && from !== null) {
      if (from < on) out.push(span(from, on))
      from = null
    }
  }
  return out
}

/** Every day that a set could hold. */
export const EVERY_DAY: SpanSet = [{ from: '0000-01-01' as CivilDate, until: null }]

/** Days in none of the spans. */
export const complement = (set: SpanSet): Span[] => subtract(EVERY_DAY, set)

/** The first day of the set on or after a date, or null. O(spans). */
export function firstDayFrom(set: SpanSet, date: CivilDate): CivilDate | null {
  const next = set.find((s) => date < endOf(s))
  return next ? (next.from < date ? date : next.from) : null
}

/** The span that holds on a date, or undefined. */
export const spanOn = (set: SpanSet, on: CivilDate): Span | undefined =>
  set.find((s) => s.from <= on && on < endOf(s))

export const holdsOn = (set: SpanSet, on: CivilDate): boolean => spanOn(set, on) !== undefined
