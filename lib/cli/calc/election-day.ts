import { z } from 'zod'
import { electionDay } from '@/lib/kernel/dates'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: z.strictObject({ year: z.int() }),
  run: ({ year }) => ({ date: electionDay(year) }),
})
