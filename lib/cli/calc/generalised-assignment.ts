import { z } from 'zod'
import { solveGeneralisedAssignment } from '@/lib/roster/core/generalised-assignment'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: z.strictObject({
    sense: z.enum(['min', 'max']).default('min'),
    values: z.array(z.array(z.number())),
    weights: z.array(z.array(z.int().min(0))),
    capacities: z.array(z.int().min(0)),
    /** Cells of knapsack tables after which the search ends: the usual 6e9 are a quarter of a minute. */
    work: z.number().min(0).max(1e13).optional(),
  }),
  run: ({ work, ...problem }) =>
    solveGeneralisedAssignment(problem, work === undefined ? undefined : { work }),
})
