import { z } from 'zod'
import { seatsFor } from '@/lib/crews/core/seats'
import { CrewPlace, RuleTable } from '@/lib/crews/schema'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: z.strictObject({ ruleTable: RuleTable, places: z.array(CrewPlace).max(20_000) }),
  run: ({ ruleTable, places }) => {
    const seats = places.flatMap((place) => seatsFor(ruleTable, place))
    return { seats, total: seats.reduce((sum, group) => sum + group.seats, 0) }
  },
})
