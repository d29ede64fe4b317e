import { addDays, type CivilDate } from '@/lib/kernel/dates'
import { firstDayFrom, holdsOn, intersect, type Span, spanOn, subtract, union } from '@/lib/kernel/spans'
import type { ElectionDate, EvidenceRule, Fact, Policy, Requirement } from '../schema'
import { type Evidence, evidenceFor, type FactBook, openBook, outOfUse, withdrawalsOf } from './evidence'
import { leafSpans, ruleSetOn, spansFromBook, spansUnder } from './spans-of'
import { possibleSpans } from './window'

/** Why one leaf holds or doesn't on a date. */
export type LeafReason =
  | 'held'
  /** Nothing of the kind is on record. */
  | 'missing'
  /** It is dated later than the day asked about. */
  | 'notYet'
  | 'lapsed'
  | 'revoked'
  | 'equipmentChanged'
  /** It doesn't fall into the time before any election that it could count for. */
  | 'outsideElectionTime'
  | NonNullable<Evidence['refused']>

export interface LeafExplanation {
  kind: 'evidence'
  rule: EvidenceRule
  holds: boolean
  reason: LeafReason
  /** The fact that the reason speaks of: the one that lasts longest, else the latest, else the next. */
  fact: Fact | null
  /** First day without it: ahead when held, past when lapsed; null: no end, or nothing to say. */
  until: CivilDate | null
}

/** Everything can still be done but what lies before the county's records here. */
const canBeDone = (rule: EvidenceRule): boolean => rule.fact !== 'earlierTraining'

export interface GroupExplanation {
  kind: 'all' | 'any' | 'atLeast'
  holds: boolean
  /** How many parts hold, and how many must. */
  held: number
  needed: number
  of: Explanation[]
}

export type Explanation = LeafExplanation | GroupExplanation

interface Judged {
  on: CivilDate
  /** The version that judges this date; null: no version is in effect. */
  ruleVersion: number | null
  citation: string | null
  why: Explanation | null
}

export type CertificateStatus =
  | (Judged & { valid: true; from: CivilDate; until: CivilDate | null })
  | (Judged & {
      valid: false
      /** When it last lapsed, if it was ever held before. */
      lapsedOn: CivilDate | null
      /** When it will hold with what is on record now. */
      nextHoldsOn: CivilDate | null
      /** The earliest day, from the one asked about, on which it could hold if everything missing were done as
       *  soon as its window lets it count; null: under the published rules and elections, never. */
      earliestOn: CivilDate | null
    })

/** Does a person hold the certificate on a date, until when, and if not, why not? The same days as `spansOf`.
 *  O(leaves × facts × elections). @throws RangeError for contradictory facts. */
export function statusOn(
  policy: Policy,
  facts: readonly Fact[],
  elections: readonly ElectionDate[],
  date: CivilDate,
): CertificateStatus {
  const book = openBook(facts)
  const spans = spansFromBook(policy, book, elections)
  const ruleSet = ruleSetOn(policy, date)
  const judged: Judged = {
    on: date,
    ruleVersion: ruleSet?.version ?? null,
    citation: ruleSet?.citation ?? null,
    why: ruleSet
      ? explain(ruleSet.requirement, date, (rule) => evidenceFor(rule, book, elections, policy))
      : null,
  }
  const held = spanOn(spans, date)
  if (held) return { ...judged, valid: true, from: held.from, until: held.until }
  const could = spansUnder(policy, (rule) =>
    union(leafSpans(rule, policy, book, elections), couldCount(rule, policy, book, elections, date)),
  )
  return {
    ...judged,
    valid: false,
    lapsedOn: spans.findLast((s) => s.until !== null && s.until <= date)?.until ?? null,
    nextHoldsOn: firstDayFrom(spans, date),
    earliestOn: firstDayFrom(could, date),
  }
}

/** Days on which something done on or after `today` could count for a rule. */
function couldCount(
  rule: EvidenceRule,
  policy: Policy,
  book: FactBook,
  elections: readonly ElectionDate[],
  today: CivilDate,
): Span[] {
  if (!canBeDone(rule)) return []
  let days = possibleSpans(rule.window, today, elections)
  for (const w of withdrawalsOf(book, policy.certificateKey)) {
    if (w.on < today) continue
    const anew = possibleSpans(rule.window, addDays(w.on, 1), elections)
    days = union(subtract(days, w.days), intersect(anew, w.days))
  }
  return rule.equipment?.kind === 'profile'
    ? subtract(days, outOfUse(rule.topic, rule.equipment.profile, policy.equipmentChanges))
    : days
}

/** The first day without the certificate after a date on which it holds; null where it doesn't hold on the date,
 *  or has no end. */
export function lapsesOn(
  policy: Policy,
  facts: readonly Fact[],
  elections: readonly ElectionDate[],
  date: CivilDate,
): CivilDate | null {
  return spanOn(spansFromBook(policy, openBook(facts), elections), date)?.until ?? null
}

/** The tree of reasons for one date. */
export function explain(
  requirement: Requirement,
  date: CivilDate,
  weigh: (rule: EvidenceRule) => Evidence[],
): Explanation {
  if (requirement.kind === 'evidence') return explainLeaf(requirement, date, weigh(requirement))
  const of = requirement.of.map((part) => explain(part, date, weigh))
  const held = of.filter((part) => part.holds).length
  const needed = requirement.kind === 'all' ? of.length : requirement.kind === 'any' ? 1 : requirement.count
  return { kind: requirement.kind, holds: held >= needed, held, needed, of }
}

function explainLeaf(rule: EvidenceRule, date: CivilDate, evidence: readonly Evidence[]): LeafExplanation {
  const spans = evidence.reduce<Span[]>((days, e) => union(days, e.spans), [])
  const held = spanOn(spans, date)
  if (held) {
    const lasting = evidence
      .filter((e) => holdsOn(e.spans, date))
      .reduce((best, e) => (endOn(best, date) < endOn(e, date) ? e : best))
    return { kind: 'evidence', rule, holds: true, reason: 'held', fact: lasting.fact, until: held.until }
  }
  const said = mostTelling(evidence, date)
  if (!said) return { kind: 'evidence', rule, holds: false, reason: 'missing', fact: null, until: null }
  return { kind: 'evidence', rule, holds: false, fact: said.fact, ...whyNot(said, date) }
}

/** The parts of a group that somebody may choose from, by their place in it: those that hold and those that can still be
 *  done; all of them where these would be too few. */
export function choosable(group: GroupExplanation): [place: number, part: Explanation][] {
  const all = group.of.map((part, place): [number, Explanation] => [place, part])
  const open = all.filter(([, part]) => part.holds || part.kind !== 'evidence' || canBeDone(part.rule))
  return open.length < group.needed ? all : open
}

const endOn = (e: Evidence, date: CivilDate): string => spanOn(e.spans, date)?.until ?? '9999-99-99'

/** Of facts that don't count on a date: the latest one by then that once could, else the latest by then, else the
 *  next one after it. */
function mostTelling(evidence: readonly Evidence[], date: CivilDate): Evidence | undefined {
  const byDate = [...evidence].sort((a, b) => (a.fact.on < b.fact.on ? -1 : a.fact.on > b.fact.on ? 1 : 0))
  return (
    byDate.findLast((e) => e.fact.on <= date && e.refused === null) ??
    byDate.findLast((e) => e.fact.on <= date) ??
    byDate[0]
  )
}

function whyNot(e: Evidence, date: CivilDate): { reason: LeafReason; until: CivilDate | null } {
  if (e.refused) return { reason: e.refused, until: null }
  if (e.fact.on > date) return { reason: 'notYet', until: null }
  if (e.window === null) return { reason: 'outsideElectionTime', until: null }
  const revokedOn = spanOn(e.revoked, date)?.from
  if (revokedOn !== undefined) return { reason: 'revoked', until: revokedOn }
  if (e.equipmentLapsesOn !== null && e.equipmentLapsesOn <= date)
    return { reason: 'equipmentChanged', until: e.equipmentLapsesOn }
  return { reason: 'lapsed', until: e.window.until }
}
