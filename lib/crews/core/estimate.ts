import type { DemandProfile } from '../schema'
import { fewestStations, type Waiting, waiting } from './erlang'
import { type DayOutcome, dayLineOf, simulateDay } from './simulate'

/** A wait longer than this is too long (Presidential Commission on Election Administration, 2014). */
export const TOO_LONG_MINUTES = 30
/** Share of people who may wait too long in the busiest hour, for the number of stations that we name (ours). */
export const MAY_WAIT_TOO_LONG = 0.05

export interface LineEstimate {
  stations: number
  /** One for each hour from opening on. */
  hours: {
    fromHour: number
    arrivals: number
    /** As if this hour went on for ever (Erlang C). */
    steady: Waiting
    /** Mean of the simulated days, with its confidence interval. */
    simulated: { mean: number; low: number; high: number }
    queueAtEnd: number
  }[]
  day: DayOutcome
  repetitions: number
  /** The fewest stations that keep the busiest hour under the target; null: more than 200. */
  fewest: number | null
}

/** Work that a page may do: arrivals simulated in all. */
const ARRIVALS_SIMULATED = 150_000

/** A place's line at one kind of station, hour by hour: steady values and a simulation of whole days with the rush at
 *  opening. Fewer repetitions for larger places, never below 20. @throws RangeError for impossible rates. */
export function estimateLine(
  demand: DemandProfile,
  registeredVoters: number,
  stations: number,
  meanServiceMinutes: number,
): LineEstimate {
  const line = dayLineOf(demand, registeredVoters, {
    servers: stations,
    meanServiceMinutes,
    thresholdMinutes: TOO_LONG_MINUTES,
  })
  const people = Math.max(1, registeredVoters * demand.turnoutFraction)
  const repetitions = Math.max(20, Math.min(200, Math.round(ARRIVALS_SIMULATED / people)))
  const day = simulateDay(line, { repetitions, seed: 1, confidence: 0.95, warmUpMinutes: 0 })
  const rate = { servicePerHour: 60 / meanServiceMinutes, thresholdMinutes: TOO_LONG_MINUTES }
  const fewest = fewestStations(
    { arrivalsPerHour: Math.max(...line.arrivalsPerHour), ...rate },
    { chanceOverThreshold: MAY_WAIT_TOO_LONG },
  )
  return {
    stations,
    hours: line.arrivalsPerHour.map((arrivalsPerHour, i) => ({
      fromHour: demand.opensAtHour + i,
      arrivals: arrivalsPerHour,
      steady: waiting({ arrivalsPerHour, servers: stations, ...rate }),
      simulated: day.intervals[i]!.meanWaitMinutes,
      queueAtEnd: day.intervals[i]!.queueAtEnd.mean,
    })),
    day,
    repetitions,
    fewest: fewest.status === 'found' ? fewest.servers : null,
  }
}
