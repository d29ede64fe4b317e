import type { CivilDate } from '@/lib/kernel/dates'
import { unreachable } from '@/lib/kernel/errors'
import { atLeast, intersect, normalise, type Span, type SpanSet, union } from '@/lib/kernel/spans'
import type { ElectionDate, EvidenceRule, Fact, Policy, Requirement, RuleSet } from '../schema'
import { evidenceFor, type FactBook, openBook } from './evidence'

/** The days on which a person holds a policy's certificate: sorted, disjoint, half-open civil dates.
 *
 *  Each fact gives each rule leaf an interval; `all` is the intersection, `any` the union, `atLeast` a count by a
 *  sweep. A date is judged by the rule version in effect on it, whenever the evidence dates from. No facts: no
 *  days. O(leaves × facts of the leaf's topic × elections). @throws RangeError for contradictory facts
 *  (see `openBook`). */
export function spansOf(policy: Policy, facts: readonly Fact[], elections: readonly ElectionDate[]): Span[] {
  return spansFromBook(policy, openBook(facts), elections)
}

/** The same from an opened book, for callers that ask about several certificates of one person. */
export function spansFromBook(policy: Policy, book: FactBook, elections: readonly ElectionDate[]): Span[] {
  const leaf = (rule: EvidenceRule) => leafSpans(rule, policy, book, elections)
  return spansUnder(policy, leaf)
}

export const leafSpans = (
  rule: EvidenceRule,
  policy: Policy,
  book: FactBook,
  elections: readonly ElectionDate[],
): Span[] => normalise(evidenceFor(rule, book, elections, policy).flatMap((e) => e.spans))

/** All versions, each over its own time, for any meaning of a leaf. */
export function spansUnder(policy: Policy, leaf: (rule: EvidenceRule) => SpanSet): Span[] {
  return normalise(
    versionsInEffect(policy).flatMap(({ ruleSet, inEffect }) =>
      intersect([inEffect], evaluate(ruleSet.requirement, leaf)),
    ),
  )
}

function evaluate(requirement: Requirement, leaf: (rule: EvidenceRule) => SpanSet): SpanSet {
  switch (requirement.kind) {
    case 'evidence':
      return leaf(requirement)
    case 'all': {
      let days = evaluate(requirement.of[0]!, leaf)
      for (let i = 1; i < requirement.of.length && days.length > 0; i++)
        days = intersect(days, evaluate(requirement.of[i]!, leaf))
      return days
    }
    case 'any':
      return requirement.of.reduce<SpanSet>((days, part) => union(days, evaluate(part, leaf)), [])
    case 'atLeast':
      return atLeast(
        requirement.count,
        requirement.of.map((part) => evaluate(part, leaf)),
      )
    default:
      return unreachable(requirement)
  }
}

/** When each version judges: from its date until the next version's date, or its own end if that is earlier.
 *  Of two versions with one date the higher number counts. A gap between versions certifies nobody. */
export function versionsInEffect(policy: Policy): { ruleSet: RuleSet; inEffect: Span }[] {
  const sorted = [...policy.ruleSets].sort((a, b) =>
    a.effectiveFrom < b.effectiveFrom ? -1 : a.effectiveFrom > b.effectiveFrom ? 1 : a.version - b.version,
  )
  return sorted.flatMap((ruleSet, i) => {
    const next = sorted[i + 1]?.effectiveFrom ?? null
    const own = ruleSet.effectiveUntil ?? null
    const until = own === null ? next : next === null || own < next ? own : next
    return until !== null && until <= ruleSet.effectiveFrom
      ? []
      : [{ ruleSet, inEffect: { from: ruleSet.effectiveFrom, until } }]
  })
}

/** The rule version that judges a date, or undefined where none is in effect. */
export const ruleSetOn = (policy: Policy, date: CivilDate): RuleSet | undefined =>
  versionsInEffect(policy).find(
    ({ inEffect }) => inEffect.from <= date && (inEffect.until === null || date < inEffect.until),
  )?.ruleSet

/** Every kind and topic of fact that can decide a policy, in any of its versions. */
export function topicsOf(policy: Policy): Pick<Fact, 'kind' | 'topic'>[] {
  const leaves = (r: Requirement): EvidenceRule[] => (r.kind === 'evidence' ? [r] : r.of.flatMap(leaves))
  return [
    { kind: 'certificateRevoked', topic: policy.certificateKey },
    ...policy.ruleSets
      .flatMap((ruleSet) => leaves(ruleSet.requirement))
      .map(({ fact, topic }) => ({ kind: fact, topic })),
  ]
}
