/** The published sets in tests/reference/psychometrics. */

import { type Responses, responsesFromMarks, responsesFromPatterns } from '@/lib/assessment/core/responses'
import lsat from '../../reference/psychometrics/lsat6_and_kr20.json'

export const LSAT6 = lsat.LSAT6
export const KR20_EXAMPLE = lsat.ECU_KR20_example
export const lsatPatterns = LSAT6.patterns.map((p) => ({ marks: [...p.pattern].map(Number), count: p.n }))
export const lsatResponses = (): Responses => responsesFromPatterns(lsatPatterns)
export const kr20Responses = (): Responses => responsesFromMarks(KR20_EXAMPLE.data)
