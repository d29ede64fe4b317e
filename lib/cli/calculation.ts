import type { z } from 'zod'

/** One `calc` command: what it takes and what it does. A `RangeError` from `run` is the caller's fault (exit 2);
 *  it may name the `path` of the input that it is about. */
export interface Calculation<I = never, O = unknown> {
  input: z.ZodType<I>
  run(input: I): O | Promise<O>
}

export const defineCalculation = <I, O>(calculation: Calculation<I, O>): Calculation<I, O> => calculation
