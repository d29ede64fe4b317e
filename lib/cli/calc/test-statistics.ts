import { MarksInput, responsesOf } from '@/lib/assessment/calc-input'
import { testStatistics } from '@/lib/assessment/core/classical'
import { defineCalculation } from '../calculation'

export default defineCalculation({
  input: MarksInput,
  run: (input) => {
    const { people, items, mean, variance, kr20, standardError } = testStatistics(responsesOf(input))
    return {
      people,
      items: items.map(({ p, pointBiserial, correctedPointBiserial }) => ({
        p,
        pointBiserial,
        correctedPointBiserial,
      })),
      mean,
      variance,
      kr20,
      standardError,
    }
  },
})
