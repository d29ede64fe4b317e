/** Lower bounds by Lagrangian relaxation: 'a person once a date' is priced, what is left falls apart into crews, and
 *  each crew is solved exactly (which is stronger than the linear relaxation: odd crews and small caps are handled as
 *  whole numbers).
 *
 *  Notation. π_u ≥ 0 price of unit u; μ_k price of one filled seat of class k; ν_cm in [0, λ w_m] price of minimum m
 *  in crew c; λ ≥ 0 price of one violation. With N_k seats filled in class k and (level 3) V violations at most:
 *    L = Σ_crews min over crew choices [ Σ (α cost + π_u − ν of the minimums met − μ_k) + λ (balance, lead/deputy) ]
 *        + Σ_c Σ_m ν_cm (count_m − locked members) − Σ_u π_u + Σ_k μ_k N_k − λ V
 *  is at most the level's optimum for every choice of prices (weak duality). A class whose seats are all filled has no
 *  empty seat to price: its seats must be filled. Keep-apart and keep-together are left out (never negative), and so
 *  are lead/deputy in crews with several lead or deputy groups, and of a crew with half-day members the balance in one half
 *  of the day: each only lowers L. How a crew is solved: bound-choice.ts.
 *
 *  Prices by the subgradient method with Polyak's step. References: Held, Wolfe & Crowder 1974, Math. Prog. 6:62;
 *  Geoffrion 1974; Fisher 1981, Management Science 27:1.
 */

import { CrewChooser } from './bound-choice'
import { type CrewInfo, crewInfos } from './bound-crews'
import type { BoundSpec, Prices } from './bound-spec'
import type { Model } from './model'

export interface BoundResult {
  value: number
  /** Uses of each unit in the crews' choices. */
  use: Int32Array
  filled: Float64Array
  /** Balance and lead/deputy violations chosen. */
  violations: number
  /** Minimum slots: count − members met in the choices. */
  shortfall: Float64Array
  /** Chosen unit of each seat's first slot (−1 empty; −2 shared), when asked for. */
  choice: Int32Array | null
}

export class LagrangianBound {
  readonly crews: CrewInfo[]
  /** Each minimum of a crew that its locked members leave unmet. */
  readonly slotKeys: string[]
  private readonly slotWeight: number[]
  private readonly chooser: CrewChooser

  constructor(
    readonly model: Model,
    private readonly unitBits: Int32Array,
  ) {
    const { crews, slotKeys, slotWeight } = crewInfos(model)
    this.crews = crews
    this.slotKeys = slotKeys
    this.slotWeight = slotWeight
    this.chooser = new CrewChooser(model, crews, unitBits)
  }

  get slotCount(): number {
    return this.slotKeys.length
  }

  /** Arcs looked at so far. */
  get work(): number {
    return this.chooser.work
  }

  freshPrices(): Prices {
    return {
      unit: new Float64Array(this.model.unitCount),
      filled: new Float64Array(this.model.classes.length),
      minimum: new Float64Array(this.slotCount),
      violation: 0,
    }
  }

  /** Price of a violation in all: objective and multiplier. */
  private violationPrice(spec: BoundSpec, prices: Prices): number {
    return spec.violationFactor + (spec.allowedViolations === null ? 0 : prices.violation)
  }

  /** Brings prices into their ranges. */
  clip(spec: BoundSpec, prices: Prices): void {
    for (let u = 0; u < prices.unit.length; u++) if (prices.unit[u]! < 0) prices.unit[u] = 0
    if (prices.violation < 0) prices.violation = 0
    const price = this.violationPrice(spec, prices)
    for (let i = 0; i < this.slotCount; i++) {
      const top = price * this.slotWeight[i]!
      if (prices.minimum[i]! < 0) prices.minimum[i] = 0
      else if (prices.minimum[i]! > top) prices.minimum[i] = top
    }
  }

  /** Weighted shortfall of minimums whose price is as high as that of a violation lets it be: a higher price of a
   *  violation is worth that much more. */
  heldDown(spec: BoundSpec, prices: Prices, shortfall: Float64Array): number {
    const price = this.violationPrice(spec, prices)
    let sum = 0
    for (let i = 0; i < this.slotCount; i++) {
      const weight = this.slotWeight[i]!
      if (shortfall[i]! > 0 && prices.minimum[i]! >= price * weight) sum += weight * shortfall[i]!
    }
    return sum
  }

  /** L for given prices, with the choices that reach it. */
  evaluate(spec: BoundSpec, prices: Prices, wantChoice = false): BoundResult {
    const { model, unitBits, chooser } = this
    const duty = model.instance.rules.leadDeputySameParty
    const violationPrice = this.violationPrice(spec, prices)
    const use = new Int32Array(model.unitCount)
    const filled = new Float64Array(model.classes.length)
    const shortfall = new Float64Array(this.slotCount)
    const choice = wantChoice ? new Int32Array(model.seatCount).fill(-1) : null
    let value = 0
    let violations = 0
    chooser.price(spec, prices, violationPrice)
    for (const crew of this.crews) {
      for (const s of crew.slots) {
        value += prices.minimum[s.slot]! * s.need
        shortfall[s.slot] = s.need
      }
      value += crew.dutyConstant * violationPrice * duty
      violations += crew.dutyConstant * duty
      const chosen = chooser.choose(crew)
      value += chosen.value
      violations += chosen.violations
      chosen.picks.forEach(({ units, whole, seats }, i) => {
        for (const u of units) {
          if (u < 0) continue
          use[u] = use[u]! + 1
          for (const s of crew.slots)
            if (unitBits[u]! & (1 << s.minimum)) shortfall[s.slot] = shortfall[s.slot]! - 1
        }
        const { byClass } = crew.bundles[i]!
        let left = seats
        for (const k of chooser.classOrder) {
          const n = Math.min(left, byClass[k]!.length)
          filled[k] = filled[k]! + n
          left -= n
        }
        if (choice) {
          const inOrder = chooser.classOrder.flatMap((k) => byClass[k]!)
          for (let n = 0; n < whole; n++) choice[inOrder[n]!] = units[n]!
        }
      })
    }
    for (let u = 0; u < model.unitCount; u++) value -= prices.unit[u]!
    for (let k = 0; k < model.classes.length; k++) {
      filled[k] = filled[k]! + model.lockedFilled[k]!
      value -= model.lockedFilled[k]! * (prices.filled[k]! + spec.earn[k]!)
      const n = spec.filled[k]
      if (n !== null && n !== undefined) value += prices.filled[k]! * n
    }
    if (spec.allowedViolations !== null) value -= prices.violation * spec.allowedViolations
    value += spec.costFactor * model.lockedCost
    return { value, use, filled, violations, shortfall, choice }
  }
}
