import { z } from 'zod'
import { replay } from '@/lib/scenarios/core/replay'
import { EquipmentProfile, PlayEvents, Scenario } from '@/lib/scenarios/schema'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: z.strictObject({ scenario: Scenario, profile: EquipmentProfile, events: PlayEvents }),
  run: ({ scenario, profile, events }) => replay(scenario, profile, events),
})
