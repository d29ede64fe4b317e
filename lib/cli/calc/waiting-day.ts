import { z } from 'zod'
import { simulateDay } from '@/lib/crews/core/simulate'
import { defineCalculation } from '../calculation'

/** A day with a rush, by simulation; times in minutes, each figure with its confidence interval. */
export default defineCalculation({
  input: z.strictObject({
    arrivalsPerHour: z.array(z.number().min(0).max(10_000)).min(1).max(96),
    intervalMinutes: z.number().positive().max(1440).default(60),
    waitingAtOpening: z.int().min(0).max(100_000).default(0),
    meanServiceMinutes: z.number().positive().max(600),
    serviceShape: z.int().min(1).max(50).default(1),
    servers: z.int().min(1).max(500),
    thresholdMinutes: z.number().min(0).default(30),
    repetitions: z.int().min(20).max(2000).default(200),
    seed: z.int().min(0).max(0xffffffff).default(1),
    confidence: z.number().gt(0).lt(1).default(0.95),
    warmUpMinutes: z.number().min(0).default(0),
  }),
  run: ({ repetitions, seed, confidence, warmUpMinutes, ...line }) =>
    simulateDay(line, { repetitions, seed, confidence, warmUpMinutes }),
})
