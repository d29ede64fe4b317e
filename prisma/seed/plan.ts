import type { Random } from '@/lib/kernel/random'
import type { PersonPlan } from './people'
import { POSITIONS, type PositionKey } from './seats'

/** How far a person is with the certificate of the position that they want, seen from the date of the seed:
 *  `current` holds it on election day, `expiring` holds it now and loses it before, `lapsed` held it once,
 *  `halfWay` has all but the check-off, `begun` has played the lesson, `never` has nothing. */
export type Standing = 'current' | 'expiring' | 'lapsed' | 'halfWay' | 'begun' | 'never'

export interface StandingPlan extends PersonPlan {
  standing: Standing
}

/** For this share of each position's seats somebody is certified on election day. Some of them offer half a day or
 *  are away, so that about three seats of four can be filled. */
const TRAINED_SHARE = 0.87
/** At most this share of the people is certified on election day, however many seats there are. */
const MOST_CERTIFIED = 0.8

const REST: readonly { standing: Standing; weight: number }[] = [
  { standing: 'expiring', weight: 26 },
  { standing: 'lapsed', weight: 20 },
  { standing: 'halfWay', weight: 10 },
  { standing: 'begun', weight: 10 },
  { standing: 'never', weight: 34 },
]

/** Who wants which position and how far they are: enough certified people for about three seats of four. `fixed`
 *  come first, in their order; everybody else in random order. */
export function planPeople(
  random: Random,
  count: number,
  seatsByPosition: ReadonlyMap<PositionKey, number>,
  fixed: readonly StandingPlan[],
): StandingPlan[] {
  const wanted = POSITIONS.map(({ key }) => ({
    key,
    seats: seatsByPosition.get(key) ?? 0,
    certified: TRAINED_SHARE * (seatsByPosition.get(key) ?? 0),
  }))
  const total = wanted.reduce((sum, w) => sum + w.certified, 0)
  const scale = Math.min(1, (MOST_CERTIFIED * count) / Math.max(1, total))
  const plans: StandingPlan[] = []
  for (const { key, certified } of wanted)
    for (let i = 0; i < Math.round(certified * scale); i++) plans.push({ track: key, standing: 'current' })
  plans.length = Math.min(plans.length, Math.max(0, count - fixed.length))
  // Few want to be lead before they have served in another position.
  const weights = wanted.map(({ key, seats }) => ({
    value: key,
    weight: key === 'lead' || key === 'deputy' ? seats / 2 : seats,
  }))
  const standings = REST.map(({ standing, weight }) => ({ value: standing, weight }))
  while (plans.length + fixed.length < count)
    plans.push({ track: weighted(random, weights), standing: weighted(random, standings) })
  return [...fixed, ...random.shuffle(plans)].slice(0, count)
}

function weighted<T>(random: Random, choices: readonly { value: T; weight: number }[]): T {
  let rest = random.next() * choices.reduce((sum, { weight }) => sum + weight, 0)
  for (const { value, weight } of choices) {
    rest -= weight
    if (rest < 0) return value
  }
  return choices.at(-1)!.value
}
