import type { EvidenceRule, Fact, Policy, Requirement, Window } from '@/lib/certification/schema'
import { type CivilDate, civilDate } from '@/lib/kernel/dates'

/** Small makers for the tests of this folder. */
export const rule = (
  fact: EvidenceRule['fact'],
  topic: string,
  window: Window,
  more: Partial<EvidenceRule> = {},
): EvidenceRule => ({ kind: 'evidence', fact, topic, window, ...more })

export const fact = (
  id: string,
  kind: Fact['kind'],
  topic: string,
  on: string,
  more: Partial<Fact> = {},
): Fact => ({
  id,
  kind,
  topic,
  on: civilDate(on),
  ...more,
})

export const policyOf = (requirement: Requirement, more: Partial<Policy> = {}): Policy => ({
  certificateKey: 'tested',
  ruleSets: [
    {
      certificateKey: 'tested',
      version: 1,
      effectiveFrom: '1900-01-01' as CivilDate,
      requirement,
      citation: 'test',
    },
  ],
  equipmentChanges: [],
  ...more,
})

export const election = (heldOn: string, id = heldOn) => ({ id, heldOn: civilDate(heldOn) })
