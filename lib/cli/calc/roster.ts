import { z } from 'zod'
import { solveRoster } from '@/lib/roster/core/solve'
import { loadMipSolver } from '@/lib/roster/mip'
import { RosterInstance } from '@/lib/roster/schema'
import { defineCalculation } from '../calculation'

/** A roster instance, plain or with options: `{instance, options: {seed, workLimit}}`. */
export default defineCalculation({
  input: z.union([
    z.strictObject({
      instance: RosterInstance,
      options: z
        .strictObject({ seed: z.int().default(1), workLimit: z.number().min(0).max(100).default(1) })
        .default({ seed: 1, workLimit: 1 }),
    }),
    RosterInstance.transform((instance) => ({ instance, options: { seed: 1, workLimit: 1 } })),
  ]),
  run: async ({ instance, options }) => {
    const mip = loadMipSolver()
    const start = process.hrtime.bigint()
    const result = solveRoster(instance, { ...options, mip })
    return { ...result, seconds: Number(process.hrtime.bigint() - start) / 1e9 }
  },
})
