import { z } from 'zod'
import { chanceOfAtLeast, smallestPool } from '@/lib/roster/core/standby'
import { defineCalculation } from '../calculation'

const Rate = z.number().min(0).max(1)
const Needed = z.int().min(0).max(20_000)

export default defineCalculation({
  input: z.union([
    z.strictObject({ needed: Needed, showRate: Rate, confidence: Rate }),
    z.strictObject({ needed: Needed, showRates: z.array(Rate).max(20_000), confidence: Rate.optional() }),
  ]),
  run: (input) => {
    if ('showRate' in input) return smallestPool(input.needed, input.showRate, input.confidence)
    const { needed, showRates, confidence } = input
    if (confidence === undefined)
      return {
        pool: showRates.length,
        reserve: showRates.length - needed,
        chance: chanceOfAtLeast(needed, showRates),
      }
    // The most reliable people first: of all pools of a size they have the best chance.
    const sorted = [...showRates].sort((a, b) => b - a)
    for (let n = needed; n <= sorted.length; n++) {
      const chance = chanceOfAtLeast(needed, sorted.slice(0, n))
      if (chance >= confidence) return { pool: n, reserve: n - needed, chance }
    }
    throw new RangeError(
      `even all ${showRates.length} people reach ${needed} with a chance of only ${chanceOfAtLeast(needed, showRates)}`,
    )
  },
})
