import { z } from 'zod'
import { readingGrade } from '@/lib/scenarios/core/reading-grade'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: z.strictObject({ text: z.string().max(1_000_000) }),
  run: ({ text }) => {
    const result = readingGrade(text)
    if (!result) throw new RangeError('text: must hold at least one word')
    return result
  },
})
