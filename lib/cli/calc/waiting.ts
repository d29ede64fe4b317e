import { z } from 'zod'
import { waiting } from '@/lib/crews/core/erlang'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: z.strictObject({
    arrivalsPerHour: z.number().min(0).max(1e9),
    servicePerHour: z.number().positive().max(1e9),
    servers: z.int().min(1).max(1_000_000),
    thresholdMinutes: z.number().min(0).max(1e9),
  }),
  run: waiting,
})
