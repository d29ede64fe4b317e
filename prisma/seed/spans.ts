import { openBook } from '@/lib/certification/core/evidence'
import { spansFromBook } from '@/lib/certification/core/spans-of'
import type { ElectionDate, Policy, Requirement } from '@/lib/certification/schema'
import { certificationFacts } from './facts'
import type { FactRow, SpanRow } from './rows'

/** The derived table for a county: what `lib/certification` computes from these facts. O(facts × policies). */
export function spanRows(
  countyId: string,
  facts: readonly FactRow[],
  policies: readonly Policy[],
  elections: readonly ElectionDate[],
): SpanRow[] {
  const byPerson = new Map<string, FactRow[]>()
  for (const fact of facts) {
    const own = byPerson.get(fact.pollWorkerId)
    if (own) own.push(fact)
    else byPerson.set(fact.pollWorkerId, [fact])
  }
  return [...byPerson].flatMap(([pollWorkerId, own]) => {
    const book = openBook(certificationFacts(own))
    const done = new Set(own.map(({ kind, topic }) => `${kind}/${topic}`))
    return policies
      .filter(({ ruleSets }) => ruleSets.some(({ requirement }) => isWithinReach(requirement, done)))
      .flatMap((policy) =>
        spansFromBook(policy, book, elections).map(({ from, until }) => ({
          pollWorkerId,
          certificateKey: policy.certificateKey,
          validFrom: from,
          validUntil: until,
          countyId,
        })),
      )
  })
}

/** False where a rule lacks a deed altogether: nothing needs to be computed then. */
function isWithinReach(requirement: Requirement, done: ReadonlySet<string>): boolean {
  switch (requirement.kind) {
    case 'evidence':
      return done.has(`${requirement.fact}/${requirement.topic}`)
    case 'all':
      return requirement.of.every((part) => isWithinReach(part, done))
    case 'any':
      return requirement.of.some((part) => isWithinReach(part, done))
    case 'atLeast':
      return requirement.of.filter((part) => isWithinReach(part, done)).length >= requirement.count
  }
}
