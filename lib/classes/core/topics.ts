import type { EvidenceRule, Policy, Requirement } from '@/lib/certification/schema'
import type { Wording } from '@/lib/kernel/wording'
import { CHECK_OFF_DAY } from '../schema'

/** What a class can count as. */
export interface ClassTopic {
  key: string
  title: Wording
}

const CHECK_OFF_DAY_TITLE: Wording = {
  en: 'Check-off day: show a trainer what you can do by hand',
  es: 'Día de demostración: muestre a un instructor lo que sabe hacer',
}

export function* leavesOf(requirement: Requirement): Generator<EvidenceRule> {
  if (requirement.kind === 'evidence') yield requirement
  else for (const part of requirement.of) yield* leavesOf(part)
}

/** The classes that a county's rules ask for, each once, then the check-off day. */
export function classTopicsOf(policies: ReadonlyMap<string, Policy>): ClassTopic[] {
  const topics = new Map<string, ClassTopic>()
  for (const policy of policies.values())
    for (const ruleSet of policy.ruleSets)
      for (const rule of leavesOf(ruleSet.requirement))
        if (rule.fact === 'classAttended')
          topics.set(rule.topic, {
            key: rule.topic,
            title: rule.label ?? { en: rule.topic, es: rule.topic },
          })
  return [...topics.values(), { key: CHECK_OFF_DAY, title: CHECK_OFF_DAY_TITLE }]
}

export const titleOf = (topics: readonly ClassTopic[], key: string): Wording =>
  topics.find((topic) => topic.key === key)?.title ?? { en: key, es: key }
