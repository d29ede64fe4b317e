import type { CivilDate } from '@/lib/kernel/dates'
import { unreachable } from '@/lib/kernel/errors'
import type { CrewPlace, Phase, RuleCondition, RuleTable, SeatCount, SeatRule } from '../schema'

/** Equal seats: one position, one shift of one day, at a place or for one precinct within it. */
export interface SeatGroup {
  placeId: string
  /** Null: serves the whole place. */
  precinctId: string | null
  position: string
  on: CivilDate
  phase: Phase
  shift: string
  seats: number
  /** How many of them are the legal minimum. */
  legalMinimum: number
}

interface Unit {
  precinctId: string | null
  registeredVoters: number
}

/** The seats that a county's rule table gives a place: rules of one position, day and shift add up; then the odd
 *  crew is made whole. Groups come in the order of days, of rules, of precincts, of shifts; groups of no seats are
 *  left out. A place without precincts (a vote centre that serves everyone) counts as no registered voters unless
 *  the caller lists the precincts that it serves. O(days × rules × precincts × shifts). */
export function seatsFor(table: RuleTable, place: CrewPlace): SeatGroup[] {
  const whole: Unit = {
    precinctId: null,
    registeredVoters: place.precincts.reduce((sum, p) => sum + p.registeredVoters, 0),
  }
  const precincts: Unit[] = place.precincts.map((p) => ({
    precinctId: p.id,
    registeredVoters: p.registeredVoters,
  }))
  const unitsOf = (per: SeatRule['per']) => (per === 'place' ? [whole] : precincts)
  return place.openOn.flatMap(({ on, phase }) => {
    const groups = new Map<string, SeatGroup>()
    const add = (position: string, unit: Unit, shift: string, seats: number, legal: boolean) => {
      if (seats === 0) return
      const key = JSON.stringify([position, unit.precinctId, shift])
      const group = groups.get(key)
      if (group) {
        group.seats += seats
        if (legal) group.legalMinimum += seats
      } else
        groups.set(key, {
          placeId: place.id,
          precinctId: unit.precinctId,
          position,
          on,
          phase,
          shift,
          seats,
          legalMinimum: legal ? seats : 0,
        })
    }
    for (const rule of table.rules)
      for (const unit of unitsOf(rule.per))
        if (applies(rule.when, place, phase, unit.registeredVoters))
          for (const shift of rule.shifts)
            add(rule.position, unit, shift, countSeats(rule.count, unit.registeredVoters), rule.legalMinimum)
    if (table.oddTotal) {
      const { per, position } = table.oddTotal
      for (const unit of unitsOf(per))
        for (const [shift, total] of totalsByShift([...groups.values()], per, unit.precinctId))
          if (total % 2 === 0) add(position, unit, shift, 1, false)
    }
    return [...groups.values()]
  })
}

/** Seats that serve a unit, by shift. A place's crew includes the seats of its precincts. */
function totalsByShift(groups: readonly SeatGroup[], per: SeatRule['per'], precinctId: string | null) {
  const totals = new Map<string, number>()
  for (const g of groups)
    if (per === 'place' || g.precinctId === precinctId)
      totals.set(g.shift, (totals.get(g.shift) ?? 0) + g.seats)
  return totals
}

function applies(when: RuleCondition, place: CrewPlace, phase: Phase, voters: number): boolean {
  return (
    (when.placeKinds?.includes(place.kind) ?? true) &&
    (when.phases?.includes(phase) ?? true) &&
    (when.electionKinds?.includes(place.electionKind) ?? true) &&
    (when.features?.every((f) => place.features.includes(f)) ?? true) &&
    !(when.withoutFeatures?.some((f) => place.features.includes(f)) ?? false) &&
    (when.over === undefined || voters > when.over) &&
    (when.upTo === undefined || voters <= when.upTo)
  )
}

/** Seats for a number of registered voters. */
export function countSeats(count: SeatCount, voters: number): number {
  switch (count.kind) {
    case 'fixed':
      return count.seats
    case 'steps':
      return (count.steps.find((s) => s.upTo === null || voters <= s.upTo) ?? count.steps.at(-1)!).seats
    case 'each': {
      const seats = Math.max(count.least, Math.ceil(voters / count.voters))
      return count.most === null ? seats : Math.min(count.most, seats)
    }
    default:
      return unreachable(count)
  }
}

/** How many of a crew may be of one party; null: any number. */
export function mostOfOneParty(table: RuleTable, crewSize: number): number | null {
  switch (table.sameParty) {
    case undefined:
      return null
    case 'atMostHalf':
      return Math.floor(crewSize / 2)
    case 'atMostHalfRoundedUp':
      return Math.ceil(crewSize / 2)
    default:
      return unreachable(table.sameParty)
  }
}
