import { z } from 'zod'
import { solveGeneralisedAssignment } from '@/lib/roster/core/generalised-assignment'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: z.strictObject({
    sense: z.enum(['min', 'max']).default('min'),
    values: z.array(z.array(z.number())),
    weights: z.array(z.array(z.int().min(0))),
    capacities: z.array(z.int().min(0)),
  }),
  run: (problem) => solveGeneralisedAssignment(problem),
})
