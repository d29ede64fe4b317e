import { z } from 'zod'
import { CertificationInput, policyFrom } from '@/lib/certification/calc-input'
import { spansOf } from '@/lib/certification/core/spans-of'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: z.strictObject(CertificationInput),
  run: ({ rules, facts, elections }) => ({ spans: spansOf(policyFrom(rules), facts, elections) }),
})
