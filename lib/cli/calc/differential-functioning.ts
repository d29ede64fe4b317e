import { z } from 'zod'
import { MarksInput, responsesOf } from '@/lib/assessment/calc-input'
import { differentialFunctioning, mantelHaenszel } from '@/lib/assessment/core/differential-functioning'
import { defineCalculation } from '../calculation'

const pair = z.tuple([z.number().nonnegative(), z.number().nonnegative()])

/** Two groups of marks, or the 2 × 2 tables themselves (one for each stratum: reference right, wrong; focal right,
 *  wrong). */
export default defineCalculation({
  input: z.union([
    z.strictObject({ reference: MarksInput, focal: MarksInput }),
    z.strictObject({ tables: z.array(z.tuple([pair, pair])).min(1) }),
  ]),
  run: (input) =>
    'tables' in input
      ? mantelHaenszel(input.tables)
      : differentialFunctioning(responsesOf(input.reference), responsesOf(input.focal)),
})
