/** The attainable scores of a lesson and the ways to them, by dynamic programming over the explored graph. */
import type { PlayEvent } from '../schema'
import type { Edge, LessonGraph } from './explore'

interface Reached {
  points: number
  via: Edge | null
}
/** Judged steps until the end → fewest and most points. */
type Table = Map<number, { least: Reached; most: Reached }>

/** For each hub, for each number of judged steps that can still follow, the fewest and the most points. A score is
 *  points ÷ steps, so for a given number of steps only these two can be extreme.
 *  Rounds of relaxation until nothing changes; a loop gains nothing the second time (only first visits count), so this
 *  ends. O(rounds × edges × steps). */
function tablesOf(graph: LessonGraph): Map<string, Table> {
  const tables = new Map<string, Table>()
  for (const hub of graph.hubs.values()) {
    const none: Reached = { points: 0, via: null }
    tables.set(hub.key, hub.end ? new Map([[0, { least: none, most: none }]]) : new Map())
  }
  const hubs = [...graph.hubs.values()].reverse()
  for (let changed = true; changed; ) {
    changed = false
    for (const hub of hubs)
      for (const edge of hub.edges) {
        const counted = hub.counts && edge.points !== null
        const table = tables.get(hub.key)!
        for (const [steps, { least, most }] of tables.get(edge.to)!) {
          const count = steps + (counted ? 1 : 0)
          const gain = counted ? edge.points! : 0
          const held = table.get(count)
          const lower = { points: least.points + gain, via: edge }
          const upper = { points: most.points + gain, via: edge }
          if (!held) table.set(count, { least: lower, most: upper })
          else {
            if (lower.points < held.least.points - 1e-12) held.least = lower
            else if (upper.points <= held.most.points + 1e-12) continue
            if (upper.points > held.most.points + 1e-12) held.most = upper
          }
          changed = true
        }
      }
  }
  return tables
}

export interface ScoreRange {
  /** 0 to 1. */
  least: number
  most: number
  leastPath: PlayEvent[]
  mostPath: PlayEvent[]
  /** Hubs from which no end can be reached. */
  stuck: string[]
}

/** The lowest and the highest score with which the lesson can end, and one log for each. `null` where no end can be
 *  reached. A lesson without a judged step scores 0. */
export function scoreRange(graph: LessonGraph): ScoreRange | null {
  const tables = tablesOf(graph)
  const first = tables.get(graph.start)!
  if (first.size === 0) return null
  const stuck = [...graph.hubs.values()].filter((h) => tables.get(h.key)!.size === 0).map((h) => h.key)
  const ratio = (points: number, steps: number) => (steps === 0 ? 0 : points / steps)
  let low = { score: Number.POSITIVE_INFINITY, steps: 0 }
  let high = { score: Number.NEGATIVE_INFINITY, steps: 0 }
  for (const [steps, { least, most }] of first) {
    const under = ratio(least.points, steps)
    const over = ratio(most.points, steps)
    if (under < low.score) low = { score: under, steps }
    // Of equal best scores the longer way: it shows more of the lesson.
    if (over > high.score || (over === high.score && steps > high.steps)) high = { score: over, steps }
  }
  const walk = (which: 'least' | 'most', steps: number): PlayEvent[] => {
    const events: PlayEvent[] = []
    let hub = graph.hubs.get(graph.start)!
    for (let left = steps, guard = 0; !hub.end && guard < 10_000; guard++) {
      const edge = tables.get(hub.key)!.get(left)![which].via!
      events.push(...edge.events)
      if (hub.counts && edge.points !== null) left -= 1
      hub = graph.hubs.get(edge.to)!
    }
    return events
  }
  return {
    least: low.score,
    most: high.score,
    leastPath: walk('least', low.steps),
    mostPath: walk('most', high.steps),
    stuck,
  }
}

/** A way to an end on which every mark is sound, with the most judged steps among the shortest ways; null where there
 *  is none. */
export function soundPath(graph: LessonGraph): PlayEvent[] | null {
  const back = new Map<string, { from: string; edge: Edge } | null>([[graph.start, null]])
  const queue = [graph.start]
  for (let key = queue.shift(); key !== undefined; key = queue.shift()) {
    const hub = graph.hubs.get(key)!
    if (hub.end) {
      const events: PlayEvent[][] = []
      for (let at = back.get(key); at; at = back.get(at.from)) events.push(at.edge.events)
      return events.reverse().flat()
    }
    for (const edge of hub.edges)
      if (edge.severity === 0 && !back.has(edge.to)) {
        back.set(edge.to, { from: key, edge })
        queue.push(edge.to)
      }
  }
  return null
}

/** The path that a cautious worst case takes: as `leastPath`, through mistakes to an end. */
export const worstPath = (graph: LessonGraph): PlayEvent[] | null => scoreRange(graph)?.leastPath ?? null
