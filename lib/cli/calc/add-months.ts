import { z } from 'zod'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { addMonths } from '@/lib/kernel/dates'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: z.strictObject({ date: CivilDateInput, months: z.int().min(-12_000).max(12_000) }),
  run: ({ date, months }) => ({ date: addMonths(date, months) }),
})
