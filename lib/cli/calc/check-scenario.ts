import { z } from 'zod'
import { listEquipmentProfiles } from '@/lib/scenarios/content'
import { checkScenario } from '@/lib/scenarios/core/checker'
import { EquipmentProfile, Scenario } from '@/lib/scenarios/schema'
import { defineCalculation } from '../calculation'

/** A scenario that its schema refuses is a finding, too: the caller asked what is wrong with it. */
export default defineCalculation({
  input: z.strictObject({
    scenario: z.unknown(),
    profiles: z.array(EquipmentProfile).min(1).optional(),
    gradeLimit: z.number().min(1).max(20).optional(),
    shipped: z.boolean().optional(),
  }),
  run: ({ scenario, profiles, gradeLimit, shipped }) => {
    const parsed = Scenario.safeParse(scenario)
    if (!parsed.success)
      return {
        findings: parsed.error.issues.map((issue) => ({
          rule: 'schema',
          level: 'error',
          path: z.core.toDotPath(issue.path),
          found: issue.code,
          expected: issue.message,
          tip: 'The shape is described in content/scenarios/AUTHORING.md.',
        })),
        ranges: {},
      }
    return checkScenario(parsed.data, { profiles: profiles ?? listEquipmentProfiles(), gradeLimit, shipped })
  },
})
