import { meets, type WaitTargets } from './erlang'
import { type DayLine, type DayOutcome, DEFAULT_PLAN, type SimulationPlan, simulateDay } from './simulate'

export type FewestForDay =
  | { status: 'found'; servers: number; outcome: DayOutcome }
  | { status: 'tooFew'; most: number; outcome: DayOutcome }

/** The fewest stations with which a simulated day keeps its targets at the upper end of its confidence interval, so
 *  with the stated confidence and not by luck. The same people come at the same times for each number of
 *  stations. O(most × one simulation). */
export function fewestStationsForDay(
  line: Omit<DayLine, 'servers'>,
  targets: WaitTargets,
  plan: SimulationPlan = DEFAULT_PLAN,
  most = 60,
): FewestForDay {
  for (let servers = 1; ; servers++) {
    const outcome = simulateDay({ ...line, servers }, plan)
    const worst = {
      meanWaitMinutes: outcome.meanWaitMinutes.high,
      chanceOverThreshold: outcome.chanceOverThreshold.high,
    }
    if (meets(worst, targets)) return { status: 'found', servers, outcome }
    if (servers >= most) return { status: 'tooFew', most, outcome }
  }
}
