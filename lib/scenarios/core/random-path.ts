import type { Random } from '@/lib/kernel/random'
import type { EquipmentProfile, PlayEvent, Scenario } from '../schema'
import { operateMoves } from './explore'
import { isFinished, startScenario, stepOf, transition } from './transition'

/** A log made by choosing at random among what is allowed, always finished: in an operate step help is asked after
 *  `patience` events; choices are uniform, so a loop with a way out is left sooner or later. For tests and benches.
 *  @throws RangeError where no end comes within `limit` events. */
export function randomPath(
  scenario: Scenario,
  profile: EquipmentProfile,
  random: Random,
  { patience = 25, limit = 5_000 }: { patience?: number; limit?: number } = {},
): PlayEvent[] {
  const events: PlayEvent[] = []
  let state = startScenario(scenario, profile)
  let here = 0
  while (!isFinished(scenario, state)) {
    if (events.length >= limit) throw new RangeError(`no end of "${scenario.id}" within ${limit} events`)
    const step = stepOf(scenario, state.step)
    let event: PlayEvent
    if (step.kind === 'decide') event = { type: 'choose', option: random.pick(step.options).id }
    else if (step.kind === 'operate') {
      const moves = operateMoves(scenario, profile, state)
      event = here >= patience || moves.length === 0 ? { type: 'ask-help' } : random.pick(moves)
    } else if (here >= 2 * patience || random.next() < 0.15) event = { type: 'hand-in' }
    else if (step.kind === 'spot') event = { type: 'mark', thing: random.pick(step.things).id }
    else event = { type: 'move', item: random.pick(state.order), to: random.below(state.order.length) }
    const next = transition(scenario, profile, state, event)
    // A move to where the item already is changes nothing and isn't part of the log.
    if (next.state === state) continue
    here = next.left ? 0 : here + 1
    state = next.state
    events.push(event)
  }
  return events
}
