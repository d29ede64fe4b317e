import type { Condition, Next } from '../schema'

/** What can be asked of a state: flags, acts and what the station shows, by name. */
export type Facts = Readonly<Record<string, string | number | boolean>>

/** Whether a condition holds. A fact that isn't there equals nothing and is at least and at most nothing. */
export function holds(condition: Condition, facts: Facts): boolean {
  if ('all' in condition) return condition.all.every((c) => holds(c, facts))
  if ('any' in condition) return condition.any.some((c) => holds(c, facts))
  if ('not' in condition) return !holds(condition.not, facts)
  const value = facts[condition.fact]
  if ('is' in condition) return value === condition.is
  if (typeof value !== 'number') return false
  return 'atLeast' in condition ? value >= condition.atLeast : value <= condition.atMost
}

/** The step that a `next` leads to under these facts. */
export function follow(next: Next, facts: Facts): string {
  if (typeof next === 'string') return next
  return next.branches.find((b) => holds(b.when, facts))?.to ?? next.otherwise
}

/** Every step that a `next` could lead to. */
export const targetsOf = (next: Next): string[] =>
  typeof next === 'string' ? [next] : [...next.branches.map((b) => b.to), next.otherwise]

/** Every fact that a condition reads. */
export function factsIn(condition: Condition): string[] {
  if ('all' in condition) return condition.all.flatMap(factsIn)
  if ('any' in condition) return condition.any.flatMap(factsIn)
  if ('not' in condition) return factsIn(condition.not)
  return [condition.fact]
}
