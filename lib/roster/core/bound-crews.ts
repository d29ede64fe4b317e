/** What the Lagrangian bound knows of a crew whatever the prices: which seats are alike and which rules bind it. */
import { AFTERNOON, MORNING, meetsMinimum, partiesOf, partyClass, WHOLE } from './eligibility'
import type { Crew, Model } from './model'

/** Groups of a crew that the same people may take at the same cost: to the bound their seats differ by class alone. */
export interface Bundle {
  /** One of the groups: its arcs are those of all. */
  group: number
  /** Seats of each class. */
  byClass: number[][]
  seatCount: number
  /** Are its people there in the crew's judged half of the day? */
  counts: boolean
}

export interface CrewInfo {
  bundles: Bundle[]
  /** Positions of the bundles: the one decided first, the judged one, the rest. */
  order: number[]
  partyMatters: boolean
  balance: boolean
  /** MORNING or AFTERNOON: where the halves of the day have people of their own the bound looks at the balance of one. */
  judgedHalf: number
  /** Of locked members in the judged half; and the most in any half. */
  lockedDifference: number
  lockedMost: number
  /** Lead/deputy rule: bundle that is decided first, bundle judged second (−1: none), or a locked start. */
  dutyFirst: number
  dutySecond: number
  dutyStart: number
  dutyConstant: number
  slots: { slot: number; minimum: number; need: number }[]
}

export interface CrewInfos {
  crews: CrewInfo[]
  slotKeys: string[]
  slotWeight: number[]
}

/** O(arcs). */
export function crewInfos(model: Model): CrewInfos {
  const slotKeys: string[] = []
  const slotWeight: number[] = []
  const crews = model.crews.map((crew) => {
    const info = infoOf(model, crew)
    for (const { minimum, need, weight } of needsOf(model, crew)) {
      info.slots.push({ slot: slotKeys.length, minimum, need })
      slotKeys.push(`${minimum}|${crew.key}`)
      slotWeight.push(weight)
    }
    return info
  })
  return { crews, slotKeys, slotWeight }
}

/** Minimums that locked members leave unmet; those from the 32nd on have no bit and no price. */
function needsOf({ instance }: Model, crew: Crew) {
  return crew.minimums.flatMap((minimum) => {
    const rule = instance.rules.minimums[minimum]!
    const have = crew.locked.filter((l) => meetsMinimum(instance.people[l.person]!, rule)).length
    if (minimum >= 31 || have >= rule.count || rule.weight === 0) return []
    return [{ minimum, need: rule.count - have, weight: rule.weight }]
  })
}

function infoOf(model: Model, crew: Crew): CrewInfo {
  const { rules } = model.instance
  const judgedHalf = judgedHalfOf(model, crew)
  const bundles = bundlesOf(model, crew, judgedHalf)
  const balance = rules.balance !== null && (rules.balance.mode === 'hard' || rules.balance.weight > 0)
  const judged = rules.leadDeputySameParty > 0 && rules.balance !== null
  const duty = judged ? dutyOf(model, crew, bundles) : NO_DUTY
  const rank = (i: number) => (i === duty.dutyFirst ? 0 : i === duty.dutySecond ? 1 : 2)
  return {
    bundles,
    order: bundles.map((_, i) => i).sort((x, y) => rank(x) - rank(y) || x - y),
    partyMatters: balance || duty.dutySecond >= 0,
    balance,
    judgedHalf,
    lockedDifference: lockedDifference(model, crew, judgedHalf),
    lockedMost: Math.max(
      ...[MORNING, AFTERNOON].map((half) => Math.abs(lockedDifference(model, crew, half))),
    ),
    ...duty,
    slots: [],
  }
}

/** The half of the day that more seats ask for. */
function judgedHalfOf(model: Model, crew: Crew): number {
  const seatsOf = (half: number) =>
    crew.groups.reduce((sum, g) => sum + (model.groupShift[g] === half ? model.groupSeats[g]!.length : 0), 0)
  return seatsOf(AFTERNOON) > seatsOf(MORNING) ? AFTERNOON : MORNING
}

function bundlesOf(model: Model, crew: Crew, judgedHalf: number): Bundle[] {
  const bundles: Bundle[] = []
  for (const group of crew.groups) {
    const seats = model.groupSeats[group]!
    let bundle = bundles.find((b) => areAlike(model, b.group, group))
    if (!bundle) {
      const shift = model.groupShift[group]
      const counts = shift === WHOLE || shift === judgedHalf
      bundle = { group, byClass: model.classes.map(() => []), seatCount: 0, counts }
      bundles.push(bundle)
    }
    bundle.byClass[model.groupClass[group]!]!.push(...seats)
    bundle.seatCount += seats.length
  }
  return bundles
}

function areAlike(model: Model, g: number, h: number): boolean {
  const { arcStart, arcUnit, arcCost, arcKind, groupDuty, groupShift, groupCutoff } = model
  if (groupDuty[g] !== 0 || groupDuty[h] !== 0) return false
  if (groupShift[g] !== groupShift[h] || groupCutoff[g] !== groupCutoff[h]) return false
  const n = arcStart[g + 1]! - arcStart[g]!
  if (arcStart[h + 1]! - arcStart[h]! !== n) return false
  for (let i = 0; i < n; i++) {
    const a = arcStart[g]! + i
    const b = arcStart[h]! + i
    if (arcUnit[a] !== arcUnit[b] || arcCost[a] !== arcCost[b] || arcKind[a] !== arcKind[b]) return false
  }
  return true
}

function lockedDifference(model: Model, crew: Crew, half: number): number {
  let difference = 0
  for (const l of crew.locked) {
    if (l.half !== WHOLE && l.half !== half) continue
    const party = partyOf(model, l.person)
    difference += party === 0 ? 1 : party === 1 ? -1 : 0
  }
  return difference
}

function partyOf({ instance }: Model, person: number): number {
  const [a, b] = partiesOf(instance)
  return partyClass(instance.people[person]!.party, a, b)
}

type Duty = Pick<CrewInfo, 'dutyFirst' | 'dutySecond' | 'dutyStart' | 'dutyConstant'>

const NO_DUTY: Duty = { dutyFirst: -1, dutySecond: -1, dutyStart: 0, dutyConstant: 0 }

/** How the rule of lead and deputy binds a crew: both free, one of them locked, or both. */
function dutyOf(model: Model, crew: Crew, bundles: readonly Bundle[]): Duty {
  const positions = (duty: number) =>
    bundles.flatMap((b, i) => (model.groupDuty[b.group] === duty ? [i] : []))
  const leads = positions(1)
  const deputies = positions(2)
  /** Bits of the parties that locked members of a duty belong to; 1 or 2 where all are of one of the two. */
  const locked = { lead: 0, deputy: 0 }
  for (const l of crew.locked) {
    const { duty } = model.instance.seats[l.seat]!
    if (duty) locked[duty] |= 1 << partyOf(model, l.person)
  }
  const clean = (bits: number) => (bits === 1 || bits === 2 ? bits : 0)
  if (leads.length === 1 && deputies.length === 1 && locked.lead === 0 && locked.deputy === 0)
    return { ...NO_DUTY, dutyFirst: leads[0]!, dutySecond: deputies[0]! }
  if (leads.length === 0 && deputies.length === 1 && locked.deputy === 0 && clean(locked.lead) > 0)
    return { ...NO_DUTY, dutyStart: locked.lead, dutySecond: deputies[0]! }
  if (deputies.length === 0 && leads.length === 1 && locked.lead === 0 && clean(locked.deputy) > 0)
    return { ...NO_DUTY, dutyStart: locked.deputy, dutySecond: leads[0]! }
  const both = leads.length === 0 && deputies.length === 0 && locked.lead === locked.deputy
  return both && clean(locked.lead) > 0 ? { ...NO_DUTY, dutyConstant: 1 } : NO_DUTY
}
