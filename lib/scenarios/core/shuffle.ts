import { seededRandom, seedOf } from '@/lib/kernel/random'
import type { OrderStep, Scenario } from '../schema'

/** The order in which options, acts or things are shown: mixed, so that the place says nothing about the judgement,
 *  and the same for everybody and on every device, so that a log replays. */
export const shownOrder = <T extends { id: string }>(
  scenario: Pick<Scenario, 'id'>,
  step: string,
  list: readonly T[],
) => seededRandom(seedOf(`${scenario.id}/${step}`)).shuffle(list)

/** The list as an order step first shows it: mixed, and never already right. */
export function firstOrder(scenario: Pick<Scenario, 'id'>, step: OrderStep): string[] {
  const mixed = shownOrder(scenario, step.id, step.items).map((i) => i.id)
  const right = step.items.every((item, i) => item.id === mixed[i])
  return right ? [...mixed.slice(1), mixed[0]!] : mixed
}
