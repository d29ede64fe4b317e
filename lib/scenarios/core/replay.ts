import type { Competency, EquipmentProfile, PlayEvent, Scenario } from '../schema'
import { isFinished, type Mark, type PlayState, startScenario, transition } from './transition'
import { COMPETENCIES } from './words'

export interface CompetencyScore {
  /** Sum of points of this competency's steps. */
  points: number
  /** Steps of this competency that were judged. */
  steps: number
  /** points ÷ steps, 0 to 1. */
  scoreFraction: number
  /** At least one critical mistake. */
  critical: boolean
}

export interface Replay {
  state: PlayState
  marks: Mark[]
  /** Mean over the judged steps of each step's points, 0 to 1; 0 where nothing was judged. Means something only when
   *  `finished`. */
  scoreFraction: number
  /** Critical mistakes, on any visit. */
  critical: number
  byCompetency: { [C in Competency]?: CompetencyScore }
  finished: boolean
  /** Indexes of events that were not allowed and changed nothing. */
  refused: number[]
}

/** A step's points are those of its weakest counted mark (a mistake on the way isn't undone by the right ending);
 *  only marks of the first visit count. The step goes to the competency of that weakest mark. */
export function stepScores(marks: readonly Mark[]): Map<string, { points: number; competency: Competency }> {
  const scores = new Map<string, { points: number; competency: Competency }>()
  for (const mark of marks) {
    if (!mark.counts) continue
    const held = scores.get(mark.step)
    if (!held || mark.points < held.points)
      scores.set(mark.step, { points: mark.points, competency: mark.competency })
  }
  return scores
}

/** Sums up marks. O(marks). */
export function score(marks: readonly Mark[]): Pick<Replay, 'scoreFraction' | 'critical' | 'byCompetency'> {
  const scores = [...stepScores(marks).values()]
  const byCompetency: { [C in Competency]?: CompetencyScore } = {}
  for (const competency of COMPETENCIES) {
    const own = scores.filter((s) => s.competency === competency)
    const critical = marks.some((m) => m.competency === competency && m.judgement === 'critical')
    if (own.length === 0 && !critical) continue
    const points = own.reduce((sum, s) => sum + s.points, 0)
    byCompetency[competency] = {
      points,
      steps: own.length,
      scoreFraction: own.length === 0 ? 0 : points / own.length,
      critical,
    }
  }
  return {
    scoreFraction: scores.length === 0 ? 0 : scores.reduce((sum, s) => sum + s.points, 0) / scores.length,
    critical: marks.filter((m) => m.judgement === 'critical').length,
    byCompetency,
  }
}

/** Plays a log from the start. This, on the server, is what grades: the browser's claims are never trusted.
 *  O(events). */
export function replay(scenario: Scenario, profile: EquipmentProfile, events: readonly PlayEvent[]): Replay {
  let state = startScenario(scenario, profile)
  const marks: Mark[] = []
  const refused: number[] = []
  events.forEach((event, i) => {
    const next = transition(scenario, profile, state, event)
    if (next.state === state && next.marks.length === 0) refused.push(i)
    state = next.state
    marks.push(...next.marks)
  })
  return { state, marks, ...score(marks), finished: isFinished(scenario, state), refused }
}
