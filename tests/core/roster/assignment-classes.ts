/** Instances of the published classes of assignment problems, made anew from their recipes.
 *  Sources (from memory): small maximised (`max`): Cattrysse, Salomon and Van Wassenhove 1994; a to d: Chu and Beasley 1997,
 *  after Martello and Toth 1981; e: Laguna et al. 1995. Uniform numbers are whole; those of d and e that aren't are
 *  rounded down, as in the files. Dense tables: Beasley 1990, costs 1 to 100. */
import { type Random, seededRandom } from '@/lib/kernel/random'
import type { GeneralisedAssignment } from '@/lib/roster/core/generalised-assignment'

export type GapClass = 'max' | 'a' | 'b' | 'c' | 'd' | 'e'

export function gapOf(kind: GapClass, agents: number, jobs: number, seed: number): GeneralisedAssignment {
  const random = seededRandom(seed)
  const pair = pairOf(kind, random)
  const table = Array.from({ length: agents }, () => Array.from({ length: jobs }, pair))
  const values = table.map((row) => row.map(([value]) => value))
  const weights = table.map((row) => row.map(([, weight]) => weight))
  const sense = kind === 'max' ? 'max' : 'min'
  return { sense, values, weights, capacities: capacitiesOf(kind, values, weights) }
}

/** Value and weight of one pair of agent and job. */
function pairOf(kind: GapClass, random: Random): () => [number, number] {
  const between = (low: number, high: number) => low + random.below(high - low + 1)
  if (kind === 'max') return () => [between(15, 25), between(5, 25)]
  if (kind === 'd')
    return () => {
      const weight = between(1, 100)
      return [111 - weight + between(-10, 10), weight]
    }
  if (kind === 'e')
    return () => {
      const weight = 1 - 10 * Math.log(1 - random.next())
      return [Math.max(1, Math.floor(1000 / weight - 10 * random.next())), Math.floor(weight)]
    }
  return () => [between(10, 50), between(5, 25)]
}

function capacitiesOf(kind: GapClass, values: number[][], weights: number[][]): number[] {
  const agents = weights.length
  const jobs = weights[0]!.length
  if (kind !== 'a' && kind !== 'b')
    return weights.map((row) => Math.floor((0.8 * row.reduce((a, b) => a + b, 0)) / agents))
  // The load of the busiest agent when each job goes where it is cheapest.
  const load = weights.map(() => 0)
  for (let j = 0; j < jobs; j++) {
    const costs = values.map((row) => row[j]!)
    const at = costs.indexOf(Math.min(...costs))
    load[at]! += weights[at]![j]!
  }
  const loose = 9 * (jobs / agents) + 0.4 * Math.max(...load)
  return weights.map(() => Math.floor(kind === 'a' ? loose : 0.7 * loose))
}

/** A table of costs between 1 and `most`. */
export function denseOf(rows: number, columns: number, seed: number, most = 100): number[][] {
  const random = seededRandom(seed)
  return Array.from({ length: rows }, () => Array.from({ length: columns }, () => 1 + random.below(most)))
}
