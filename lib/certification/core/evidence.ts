import type { CivilDate } from '@/lib/kernel/dates'
import { holdsOn, intersect, normalise, type Span, type SpanSet, subtract } from '@/lib/kernel/spans'
import type { ElectionDate, EquipmentChange, EvidenceRule, Fact, Policy } from '../schema'
import { windowSpan } from './window'

/** A person's facts, ready to be asked about. */
export interface FactBook {
  /** Facts by kind and topic, in the order given. */
  byTopic: ReadonlyMap<string, readonly Fact[]>
  /** Days on which a fact is revoked, by its id; absent: never. */
  revoked: ReadonlyMap<string, SpanSet>
}

const topicKey = (kind: string, topic: string) => `${kind}\u0000${topic}`

/** Sorts facts by topic and works out when each is revoked. A revocation counts from its own date; a revocation
 *  that is itself revoked stops counting, so the first fact counts again. O(facts).
 *  @throws RangeError for two facts of one id, a revocation of an unknown fact, or revocations in a ring. */
export function openBook(facts: readonly Fact[]): FactBook {
  const byTopic = new Map<string, Fact[]>()
  const byId = new Map<string, Fact>()
  const revocations = new Map<string, Fact[]>()
  for (const fact of facts) {
    if (byId.has(fact.id)) throw new RangeError(`two facts have the id "${fact.id}"`)
    byId.set(fact.id, fact)
    const [map, key] =
      fact.revokes == null ? [byTopic, topicKey(fact.kind, fact.topic)] : [revocations, fact.revokes]
    const list = map.get(key)
    if (list) list.push(fact)
    else map.set(key, [fact])
  }
  const revoked = new Map<string, SpanSet>()
  const open = new Set<string>()
  const revokedSpans = (id: string): SpanSet => {
    const known = revoked.get(id)
    if (known) return known
    if (open.has(id)) throw new RangeError(`the revocation of "${id}" revokes itself through others`)
    open.add(id)
    const spans = normalise(
      (revocations.get(id) ?? []).flatMap((r) => subtract([{ from: r.on, until: null }], revokedSpans(r.id))),
    )
    open.delete(id)
    revoked.set(id, spans)
    return spans
  }
  for (const id of revocations.keys()) {
    if (!byId.has(id)) throw new RangeError(`a revocation names the unknown fact "${id}"`)
    revokedSpans(id)
  }
  return { byTopic, revoked }
}

/** One fact weighed against one rule. `spans` is what counts; the parts say why. */
export interface Evidence {
  fact: Fact
  spans: SpanSet
  /** Where the window alone would let it count. */
  window: Span | null
  revoked: SpanSet
  /** First day from which changed equipment rules it out; null: none. */
  equipmentLapsesOn: CivilDate | null
  /** It can never count for this rule. */
  refused: 'scoreTooLow' | 'noEquipmentNamed' | 'otherEquipment' | null
}

/** Every fact of the rule's kind and topic, weighed for one certificate. O(facts of the topic × elections). */
export function evidenceFor(
  rule: EvidenceRule,
  book: FactBook,
  elections: readonly ElectionDate[],
  { certificateKey, equipmentChanges: changes }: Pick<Policy, 'certificateKey' | 'equipmentChanges'>,
): Evidence[] {
  const withdrawals = withdrawalsOf(book, certificateKey)
  return (book.byTopic.get(topicKey(rule.fact, rule.topic)) ?? []).map((fact) => {
    const refused = refusal(rule, fact)
    const window = windowSpan(rule.window, fact.on, fact.electionId, elections)
    const revoked = revokedFor(fact, withdrawals, book)
    const equipmentLapsesOn =
      rule.equipment && fact.equipmentProfile != null ? lapseOf(fact, fact.equipmentProfile, changes) : null
    let spans: SpanSet = refused === null && window !== null && isDay(window) ? [window] : []
    if (revoked.length > 0) spans = subtract(spans, revoked)
    if (equipmentLapsesOn !== null && spans.length > 0)
      spans =
        fact.on < equipmentLapsesOn ? intersect(spans, [{ from: fact.on, until: equipmentLapsesOn }]) : []
    return { fact, spans, window, revoked, equipmentLapsesOn, refused }
  })
}

/** The certificate was taken away: nothing done by then counts on these days, up to the day it was taken back. */
export interface Withdrawal {
  on: CivilDate
  days: SpanSet
}

/** Earliest first. */
export const withdrawalsOf = (book: FactBook, certificateKey: string): Withdrawal[] =>
  (book.byTopic.get(topicKey('certificateRevoked', certificateKey)) ?? [])
    .map((w) => ({ on: w.on, days: subtract([{ from: w.on, until: null }], book.revoked.get(w.id) ?? []) }))
    .sort((a, b) => (a.on < b.on ? -1 : a.on > b.on ? 1 : 0))

/** Days on which a fact doesn't count: itself revoked, or the certificate was taken away on its day or later, until
 *  that is taken back. What is done on later days counts again: the person starts anew. */
function revokedFor(fact: Fact, withdrawals: readonly Withdrawal[], book: FactBook): SpanSet {
  const own = book.revoked.get(fact.id) ?? []
  const later = withdrawals.filter((w) => fact.on <= w.on)
  return later.length === 0 ? own : normalise([...own, ...later.flatMap((w) => w.days)])
}

const isDay = (span: Span) => span.until === null || span.from < span.until

function refusal(rule: EvidenceRule, fact: Fact): Evidence['refused'] {
  if (rule.minScoreFraction !== undefined && (fact.scoreFraction ?? 0) < rule.minScoreFraction)
    return 'scoreTooLow'
  if (rule.equipment && fact.equipmentProfile == null) return 'noEquipmentNamed'
  if (rule.equipment?.kind === 'profile' && fact.equipmentProfile !== rule.equipment.profile)
    return 'otherEquipment'
  return null
}

/** Changes of a topic in time order. */
const changesOf = (topic: string, changes: readonly EquipmentChange[]) =>
  changes
    .filter((c) => c.topics == null || c.topics.includes(topic))
    .sort((a, b) => (a.from < b.from ? -1 : a.from > b.from ? 1 : 0))

const replaces = (change: EquipmentChange, profile: string) =>
  change.replaces == null ? change.profile !== profile : change.replaces === profile

/** The days on which a profile is out of use for a topic: from a change that replaces it by another until one that
 *  brings it back. */
export function outOfUse(topic: string, profile: string, changes: readonly EquipmentChange[]): Span[] {
  const out: Span[] = []
  let since: CivilDate | null = null
  for (const change of changesOf(topic, changes)) {
    if (change.profile === profile) {
      if (since !== null && since < change.from) out.push({ from: since, until: change.from })
      since = null
    } else if (replaces(change, profile)) since ??= change.from
  }
  if (since !== null) out.push({ from: since, until: null })
  return normalise(out)
}

/** The day on which work on a profile stops counting: its own day where the profile was out of use by then,
 *  otherwise the first later change that replaces it (by itself, too: a new version of it). */
function lapseOf(fact: Fact, profile: string, changes: readonly EquipmentChange[]): CivilDate | null {
  if (holdsOn(outOfUse(fact.topic, profile, changes), fact.on)) return fact.on
  return changesOf(fact.topic, changes).find((c) => c.from > fact.on && replaces(c, profile))?.from ?? null
}
