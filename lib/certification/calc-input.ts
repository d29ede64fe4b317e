import { z } from 'zod'
import type { CivilDate } from '@/lib/kernel/dates'
import { ElectionDate, Fact, Policy, Requirement } from './schema'

/** Facts and elections that nothing refers to need no id of their own on the command line. */
const withIds = (name: string) => (list: unknown) =>
  Array.isArray(list)
    ? list.map((value: unknown, at) =>
        typeof value === 'object' && value !== null && !('id' in value)
          ? { id: `${name} ${at + 1}`, ...value }
          : value,
      )
    : list

/** What `calc spans` and `calc status` take: a whole policy, or only a requirement that holds for all time. */
export const CertificationInput = {
  rules: z.unknown().transform((rules, ctx): Policy | Requirement => {
    // Told apart first, so that the message speaks of the field that is wrong and not of the union.
    const isPolicy = typeof rules === 'object' && rules !== null && 'ruleSets' in rules
    const parsed = (isPolicy ? Policy : Requirement).safeParse(rules)
    if (parsed.success) return parsed.data
    for (const { path, message } of parsed.error.issues) ctx.addIssue({ code: 'custom', path, message })
    return z.NEVER
  }),
  facts: z.preprocess(withIds('fact'), z.array(Fact).max(100_000)),
  elections: z.preprocess(withIds('election'), z.array(ElectionDate).max(10_000).default([])),
}

const FIRST_DAY = '1800-01-01' as CivilDate

/** A bare requirement becomes a policy of one version in effect since 1800. */
export function policyFrom(rules: Policy | Requirement): Policy {
  if (!('kind' in rules)) return rules
  return {
    certificateKey: 'certificate',
    ruleSets: [
      {
        certificateKey: 'certificate',
        version: 1,
        effectiveFrom: FIRST_DAY,
        requirement: rules,
        citation: 'given on the command line',
      },
    ],
    equipmentChanges: [],
  }
}
