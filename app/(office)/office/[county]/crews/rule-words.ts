import { countText } from '@/lib/crews/core/rule-text'
import type { SeatRule } from '@/lib/crews/schema'
import { PLACE_KINDS } from '../places/words'

export const PHASES: Record<string, string> = { electionDay: 'election day', earlyVoting: 'early voting' }
export const SAME_PARTY: Record<string, string> = {
  '': 'no rule on party',
  atMostHalf: 'at most half of a crew of one party',
  atMostHalfRoundedUp: 'at most half of a crew, rounded up, of one party',
}

/** When a rule holds, in words. */
export function whenWords(rule: SeatRule): string {
  const { phases, placeKinds, electionKinds, features, withoutFeatures, over, upTo } = rule.when
  const parts = [
    phases && `on ${phases.map((p) => PHASES[p]).join(' and ')}`,
    placeKinds && `at ${placeKinds.map((k) => `${PLACE_KINDS[k]}s`).join(' and ')}`,
    electionKinds && `in ${electionKinds.join(' and ')} elections`,
    features && `where there is ${features.join(', ')}`,
    withoutFeatures && `where there is no ${withoutFeatures.join(', ')}`,
    over !== undefined && `over ${over.toLocaleString('en-US')} voters`,
    upTo !== undefined && `up to ${upTo.toLocaleString('en-US')} voters`,
  ].filter(Boolean)
  return parts.join(', ') || 'always'
}

export const seatsWords = (rule: SeatRule): string =>
  `${countText(rule.count)}${rule.shifts.length > 1 ? `, in each of ${rule.shifts.join(' and ')}` : ''}`
