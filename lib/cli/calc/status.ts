import { z } from 'zod'
import { CertificationInput, policyFrom } from '@/lib/certification/calc-input'
import { statusOn } from '@/lib/certification/core/status'
import { todo } from '@/lib/certification/core/todo'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: z.strictObject({ ...CertificationInput, on: CivilDateInput }),
  run: ({ rules, facts, elections, on }) => {
    const policy = policyFrom(rules)
    return { ...statusOn(policy, facts, elections, on), todo: todo(policy, facts, elections, on) }
  },
})
