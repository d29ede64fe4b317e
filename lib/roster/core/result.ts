/** A finished run put into the documented result format. */
import type { BoundPrices, RosterResult, Seating } from '../schema'
import type { Prices } from './bound-spec'
import { halfName } from './eligibility'
import type { LevelOne } from './level-one'
import type { Model } from './model'
import { levelReports } from './reports'
import type { RosterState } from './state'

/** Scale of level-1 and level-2 bounds: prices are whole numbers of 1/1000 seat or violation. */
export const SCALE = 1000

export interface Priced {
  prices: Prices
  bound: number
}

export interface Finished {
  model: Model
  /** Names of the minimums' prices. */
  seatSlots: readonly string[]
  levelOne: LevelOne
  state: RosterState
  violations: number
  cost: number
  level1: { prices: (Prices | null)[]; prefix: number[] } | null
  level2: Priced | null
  level3: Priced
  /** Every roster was tried. */
  searched: boolean
  /** The whole model of level 3 was solved to its optimum. */
  costClosed: boolean
  /** The whole model of level 2 was. */
  violationsClosed: boolean
  movedSeats: boolean
  movedViolations: boolean
  interrupted: boolean
  seed: number
  work: number
}

export function resultOf(f: Finished): RosterResult {
  const { model, levelOne, level2, level3 } = f
  const { instance } = model
  const levels = levelReports({
    filled: f.state.filledByClass(),
    violations: f.violations,
    cost: f.cost,
    prefixBound: f.level1?.prefix ?? levelOne.prefixBound,
    sharingSearched: levelOne.closedBySearch,
    pricedSeats: f.level1 !== null,
    bound2: level2?.bound ?? 0,
    pricedViolations: level2 !== null,
    bound3: level3.bound,
    searched: f.searched,
    costClosed: f.costClosed,
    violationsClosed: f.violationsClosed,
    stale2: f.movedSeats,
    stale3: f.movedViolations,
  })
  const closed = levels.every((l) => l.gap === 0)
  return {
    format: 'roster-result/1',
    status: closed ? 'optimal' : f.interrupted ? 'interrupted' : 'within-gap',
    ...seatingsOf(model, f.state),
    classes: model.classes.map((c) => ({ key: c.key, seats: c.seats })),
    levels,
    proof: {
      covers: levelOne.covers.map((c) => ({
        people: c.units.map((u) => unitName(model, u)),
        seats: c.seats.map((s) => instance.seats[s]!.id),
        half: halfName(c.half),
      })),
      level1: levelOne.prefixBound.map((_, k) => {
        const prices = f.level1?.prices[k]
        return prices ? pricesOut(f, prices, SCALE) : null
      }),
      level2: level2 && !f.movedSeats ? pricesOut(f, level2.prices, SCALE) : null,
      level3: f.movedViolations ? null : pricesOut(f, level3.prices, 1),
    },
    notes: model.notes,
    seed: f.seed,
    work: f.work,
    seconds: null,
  }
}

/** What of a free seat's day is to be filled: its shift, or the half that no lock takes. */
export const openHalf = (model: Model, seat: number): number => model.groupShift[model.seatGroup[seat]!]!

/** Who sits where, locked seats included, and the seats left empty. */
export function seatingsOf(model: Model, state: RosterState): { seatings: Seating[]; empty: string[] } {
  const { instance } = model
  const seatings: Seating[] = []
  const empty: string[] = []
  const locksOf = new Map<number, { person: number; half: number }[]>()
  for (const l of model.locks) locksOf.set(l.seat, [...(locksOf.get(l.seat) ?? []), l])
  const nameOf = (unit: number) => instance.people[model.unitPerson[unit]!]!.id
  for (let s = 0; s < model.seatCount; s++) {
    const seat = instance.seats[s]!
    const first = state.first[s]!
    const second = state.second[s]!
    for (const l of locksOf.get(s) ?? [])
      seatings.push({ seatId: seat.id, personId: instance.people[l.person]!.id, half: halfName(l.half) })
    if (model.seatLocked[s]) continue
    if (first < 0) empty.push(seat.id)
    else if (second >= 0)
      seatings.push(
        { seatId: seat.id, personId: nameOf(first), half: 'morning' },
        { seatId: seat.id, personId: nameOf(second), half: 'afternoon' },
      )
    else seatings.push({ seatId: seat.id, personId: nameOf(first), half: halfName(openHalf(model, s)) })
  }
  return { seatings, empty }
}

const unitName = (model: Model, unit: number) =>
  `${model.instance.people[model.unitPerson[unit]!]!.id}|${model.dates[model.unitDate[unit]!]}`

function pricesOut(f: Finished, prices: Prices, scale: number): BoundPrices {
  const people: Record<string, number> = {}
  prices.unit.forEach((p, u) => {
    if (p !== 0) people[unitName(f.model, u)] = p
  })
  const minimums: Record<string, number> = {}
  prices.minimum.forEach((p, i) => {
    if (p !== 0) minimums[f.seatSlots[i]!] = p
  })
  return { scale, people, classes: [...prices.filled], violation: prices.violation, minimums }
}
