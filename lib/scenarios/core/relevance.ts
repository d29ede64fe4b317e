/** What of a state still matters at a step. Two states that differ only in what no later step reads are the same for
 *  every question about the future; putting them together keeps the search over a lesson small. */
import type { Condition, Next, Scenario, Step } from '../schema'
import { factsIn, targetsOf } from './facts'
import type { PlayState } from './transition'

export interface Relevance {
  /** Steps that can be reached from each step (itself only through a loop). */
  reach: ReadonlyMap<string, ReadonlySet<string>>
  project(state: PlayState): PlayState
}

/** Every `next` of a step, with where it stands. */
export function nextsOf(step: Step): { path: string; next: Next }[] {
  switch (step.kind) {
    case 'decide':
      return step.options.map((o) => ({ path: `options.${o.id}.next`, next: o.next }))
    case 'operate':
      return [
        ...step.watch.flatMap((w) => (w.next ? [{ path: `watch.${w.id}.next`, next: w.next }] : [])),
        ...step.outcomes.map((o) => ({ path: `outcomes.${o.id}.next`, next: o.next })),
        { path: 'help.next', next: step.help.next },
      ]
    case 'spot':
    case 'order':
      return [
        { path: 'next', next: step.next },
        ...step.below.map((b, i) => ({ path: `below.${i}.next`, next: b.next })),
      ]
    case 'end':
      return []
  }
}

/** Every condition of a step, with where it stands. */
export function conditionsOf(step: Step): { path: string; condition: Condition }[] {
  const inNext = nextsOf(step).flatMap(({ path, next }) =>
    typeof next === 'string'
      ? []
      : next.branches.map((b, i) => ({ path: `${path}.branches.${i}.when`, condition: b.when })),
  )
  if (step.kind !== 'operate') return inNext
  return [
    ...inNext,
    ...step.outcomes.map((o) => ({ path: `outcomes.${o.id}.when`, condition: o.when })),
    ...step.watch.flatMap((w) => [
      ...(w.was ? [{ path: `watch.${w.id}.was`, condition: w.was }] : []),
      ...(w.is ? [{ path: `watch.${w.id}.is`, condition: w.is }] : []),
    ]),
  ]
}

/** Steps that lie ahead of each step, by following every `next`. O(steps × edges). */
export function reachable(scenario: Pick<Scenario, 'steps'>): Map<string, Set<string>> {
  const direct = new Map(
    scenario.steps.map((s) => [s.id, new Set(nextsOf(s).flatMap(({ next }) => targetsOf(next)))]),
  )
  const reach = new Map<string, Set<string>>()
  for (const { id } of scenario.steps) {
    const seen = new Set<string>()
    const queue = [...(direct.get(id) ?? [])]
    for (let step = queue.pop(); step !== undefined; step = queue.pop()) {
      if (seen.has(step)) continue
      seen.add(step)
      queue.push(...(direct.get(step) ?? []))
    }
    reach.set(id, seen)
  }
  return reach
}

/** Builds the projection of a scenario's states. */
export function relevanceOf(scenario: Scenario): Relevance {
  const reach = reachable(scenario)
  const kept = new Map(
    scenario.steps.map((step) => {
      const ahead = scenario.steps.filter((s) => s.id === step.id || reach.get(step.id)!.has(s.id))
      const flags = new Set(
        ahead
          .flatMap(conditionsOf)
          .flatMap(({ condition }) => factsIn(condition))
          .map((f) => f.replace(/^flag\./, '')),
      )
      const stations = new Set(
        ahead.flatMap((s) => (s.kind === 'operate' && (!s.restart || s.id === step.id) ? [s.station] : [])),
      )
      return [step.id, { flags, stations, steps: new Set(ahead.map((s) => s.id)) }] as const
    }),
  )
  const pick = <T>(record: Record<string, T>, names: ReadonlySet<string>): Record<string, T> =>
    Object.fromEntries(
      Object.entries(record)
        .filter(([name]) => names.has(name))
        .sort(([a], [b]) => (a < b ? -1 : 1)),
    )
  return {
    reach,
    project(state) {
      const { flags, stations, steps } = kept.get(state.step)!
      return {
        ...state,
        flags: pick(state.flags, flags),
        stations: pick(state.stations, stations),
        visits: pick(state.visits, steps),
      }
    },
  }
}
