import { z } from 'zod'
import { type Responses, responsesFromMarks, responsesFromPatterns } from './core/responses'

const marks = z.array(z.number().min(0).max(1).nullable()).min(1)

/** The marks of a test as calc commands take them: a list for each person, or patterns with how often each occurred. */
export const MarksInput = z.union([
  z.strictObject({ marks: z.array(marks).min(1) }),
  z.strictObject({ patterns: z.array(z.strictObject({ marks, count: z.int().nonnegative() })).min(1) }),
])
export type MarksInput = z.infer<typeof MarksInput>

/** @throws RangeError where rows differ in length */
export const responsesOf = (input: MarksInput): Responses =>
  'marks' in input ? responsesFromMarks(input.marks) : responsesFromPatterns(input.patterns)
