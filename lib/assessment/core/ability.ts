import { chanceRight } from './latent-model'
import { normalGrid } from './quadrature'

/** Expected ability (standard normal before the answers are known) of a person with these marks of 0/1 under the Rasch
 *  model; `NaN` marks were not put. O(items × points). Source: Bock & Mislevy 1982, Appl. Psychol. Meas. 6:431. */
export function expectedAbility(marks: readonly number[], difficulties: readonly (number | null)[]): number {
  let top = 0
  let bottom = 0
  GRID.points.forEach((point, j) => {
    let weight = GRID.weights[j]!
    marks.forEach((mark, i) => {
      const difficulty = difficulties[i]
      if (difficulty == null || Number.isNaN(mark)) return
      const p = chanceRight(point, difficulty)
      weight *= mark === 1 ? p : 1 - p
    })
    top += weight * point
    bottom += weight
  })
  return bottom > 0 ? top / bottom : 0
}

const GRID = normalGrid(40)
