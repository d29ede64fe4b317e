import { z } from 'zod'
import { angoffCutScore } from '@/lib/assessment/core/cut-score'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: z.strictObject({ ratings: z.array(z.array(z.number().min(0).max(1)).min(1)).min(1) }),
  run: ({ ratings }) => {
    const { mean, standardError, byJudge } = angoffCutScore(ratings)
    return { mean, standardError, byJudge }
  },
})
