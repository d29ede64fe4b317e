import { z } from 'zod'
import { distanceKm } from '@/lib/places/core/distance'
import { defineCalculation } from '../calculation'

const Point = z.tuple([z.number().min(-90).max(90), z.number().min(-180).max(180)])

export default defineCalculation({
  input: z.strictObject({ from: Point, to: Point }),
  run: ({ from, to }) => ({ km: distanceKm(from, to) }),
})
