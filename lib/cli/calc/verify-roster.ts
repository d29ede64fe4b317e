import { z } from 'zod'
import { verifyRoster } from '@/lib/roster/core/verify'
import { RosterInstance, RosterResult } from '@/lib/roster/schema'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: z.strictObject({ instance: RosterInstance, result: RosterResult }),
  run: ({ instance, result }) => verifyRoster(instance, result),
})
