import { z } from 'zod'
import { solveDenseAssignment } from '@/lib/roster/core/dense-assignment'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: z.strictObject({
    sense: z.enum(['min', 'max']).default('min'),
    costs: z.array(z.array(z.number().nullable())),
  }),
  run: ({ sense, costs }) => solveDenseAssignment(costs, sense),
})
