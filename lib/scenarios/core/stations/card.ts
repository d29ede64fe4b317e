import type { CardWay } from '../../schema'
import type { StartWay } from '../../station-schema'

/** Turning end for end (the other end leads, the same face is up). */
export const turned = (way: CardWay): CardWay => ({ ...way, lead: way.lead === 'top' ? 'bottom' : 'top' })

/** Flipping over the long edge (the other face is up, the same end leads). */
export const flipped = (way: CardWay): CardWay => ({ ...way, face: way.face === 'up' ? 'down' : 'up' })

export const isAccepted = (way: CardWay, accepts: readonly CardWay[]): boolean =>
  accepts.some((a) => a.lead === way.lead && a.face === way.face)

/** The four ways, in the order of `turn`, `flip`, `turn`. Turn and flip commute and undo themselves, so any way is
 *  at most two moves from any other (the Klein four-group). */
export const FOUR_WAYS: readonly CardWay[] = [
  { lead: 'top', face: 'up' },
  { lead: 'bottom', face: 'up' },
  { lead: 'bottom', face: 'down' },
  { lead: 'top', face: 'down' },
]

/** The way in which a card is held at first. `wrong`: turned and flipped from a way that is taken, or only turned or
 *  only flipped where that is taken too; where all four are taken there is no wrong way. */
export function startWay(start: StartWay, accepts: readonly CardWay[]): CardWay {
  if (typeof start !== 'string') return start
  const right = accepts[0]!
  if (start === 'right') return right
  const others = [flipped(turned(right)), turned(right), flipped(right)]
  return others.find((way) => !isAccepted(way, accepts)) ?? right
}
