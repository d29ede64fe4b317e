import { listEquipmentProfiles } from '@/lib/scenarios/content'
import { Scenario } from '@/lib/scenarios/schema'

export const profileOf = (id: string) => listEquipmentProfiles().find((p) => p.id === id)!

/** A small scenario from its steps; texts are made up, because only structure matters here. */
export const scenarioOf = (parts: Record<string, unknown>): Scenario =>
  Scenario.parse({
    id: 'small',
    version: 1,
    number: 99,
    group: 'voters-and-ballots',
    minutes: 3,
    jobAid: ['one', 'two', 'three'],
    texts: { en: {}, es: {} },
    ...parts,
  })
