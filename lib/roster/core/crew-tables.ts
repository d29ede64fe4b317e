/** What valuing a crew needs, flat and computed once a model: its free seats, what its locked members count for, and
 *  the minimums that these leave open. */
import { AFTERNOON, MORNING, meetsMinimum, partiesOf, partyClass } from './eligibility'
import type { Model } from './model'

export interface CrewTables {
  /** Free seats of crew c: `seats[seatStart[c] .. seatStart[c+1]]`. */
  seatStart: Int32Array
  seats: Int32Array
  /** Locked members of the first party less those of the second, in each half of the day. */
  morning: Int32Array
  afternoon: Int32Array
  /** Locked leads, deputies, and the bits of their parties. */
  leads: Int32Array
  deputies: Int32Array
  dutyParties: Int32Array
  /** Minimums of crew c that its locked members leave open: `minimumStart[c] .. minimumStart[c+1]`. */
  minimumStart: Int32Array
  minimum: Int32Array
  need: Int32Array
  weight: Float64Array
  /** Bits of the minimums (the first 31) that each unit's person meets. */
  unitBits: Int32Array
}

const known = new WeakMap<Model, CrewTables>()

export function crewTablesOf(model: Model): CrewTables {
  let tables = known.get(model)
  if (!tables) {
    tables = build(model)
    known.set(model, tables)
  }
  return tables
}

function build(model: Model): CrewTables {
  const { instance, crews } = model
  const { people, rules, seats: all } = instance
  const [a, b] = partiesOf(instance)
  const partyOf = (person: number) => partyClass(people[person]!.party, a, b)
  const seatStart = new Int32Array(crews.length + 1)
  const seats: number[] = []
  const minimumStart = new Int32Array(crews.length + 1)
  const minimum: number[] = []
  const need: number[] = []
  const [morning, afternoon, leads, deputies, dutyParties] = Array.from(
    { length: 5 },
    () => new Int32Array(crews.length),
  ) as [Int32Array, Int32Array, Int32Array, Int32Array, Int32Array]
  crews.forEach((crew, c) => {
    for (const g of crew.groups) seats.push(...model.groupSeats[g]!)
    seatStart[c + 1] = seats.length
    for (const l of crew.locked) {
      const party = partyOf(l.person)
      const by = party === 0 ? 1 : party === 1 ? -1 : 0
      if (l.half !== AFTERNOON) morning[c]! += by
      if (l.half !== MORNING) afternoon[c]! += by
      const { duty } = all[l.seat]!
      if (duty === null) continue
      if (duty === 'lead') leads[c]!++
      else deputies[c]!++
      dutyParties[c]! |= 1 << party
    }
    for (const m of crew.minimums) {
      const rule = rules.minimums[m]!
      const have = crew.locked.filter((l) => meetsMinimum(people[l.person]!, rule)).length
      if (rule.count <= have) continue
      minimum.push(m)
      need.push(rule.count - have)
    }
    minimumStart[c + 1] = minimum.length
  })
  return {
    seatStart,
    seats: Int32Array.from(seats),
    morning,
    afternoon,
    leads,
    deputies,
    dutyParties,
    minimumStart,
    minimum: Int32Array.from(minimum),
    need: Int32Array.from(need),
    weight: Float64Array.from(minimum, (m) => rules.minimums[m]!.weight),
    unitBits: unitBitsOf(model),
  }
}

function unitBitsOf(model: Model): Int32Array {
  const count = Math.min(31, model.instance.rules.minimums.length)
  const bits = new Int32Array(model.unitCount)
  for (let u = 0; u < model.unitCount; u++)
    for (let m = 0; m < count; m++) if (model.meets(m, model.unitPerson[u]!)) bits[u] = bits[u]! | (1 << m)
  return bits
}

/** Whether somebody counts towards a minimum. */
export const meets = (model: Model, bits: Int32Array, minimum: number, unit: number): boolean =>
  minimum < 31 ? (bits[unit]! & (1 << minimum)) !== 0 : model.meets(minimum, model.unitPerson[unit]!)

/** Difference of the parties in each half of the day, its two entries in `into`. Whole-day members count in both. */
export function partyDifferences(
  model: Model,
  t: CrewTables,
  crew: number,
  first: Int32Array,
  second: Int32Array,
  into: Int32Array,
): void {
  let morning = t.morning[crew]!
  let afternoon = t.afternoon[crew]!
  for (let i = t.seatStart[crew]!; i < t.seatStart[crew + 1]!; i++) {
    const s = t.seats[i]!
    const x = first[s]!
    if (x < 0) continue
    const party = model.unitParty[x]!
    const by = party === 0 ? 1 : party === 1 ? -1 : 0
    const y = second[s]!
    const shift = y >= 0 ? MORNING : model.groupShift[model.seatGroup[s]!]!
    if (shift !== AFTERNOON) morning += by
    if (shift !== MORNING) afternoon += by
    if (y >= 0) afternoon += model.unitParty[y] === 0 ? 1 : model.unitParty[y] === 1 ? -1 : 0
  }
  into[0] = morning
  into[1] = afternoon
}

/** Weight where lead and deputy are both there and all of one party; else 0. */
export function dutyViolation(
  model: Model,
  t: CrewTables,
  crew: number,
  first: Int32Array,
  second: Int32Array,
): number {
  const { rules } = model.instance
  if (rules.leadDeputySameParty === 0 || !rules.balance) return 0
  let leads = t.leads[crew]!
  let deputies = t.deputies[crew]!
  let parties = t.dutyParties[crew]!
  for (let i = t.seatStart[crew]!; i < t.seatStart[crew + 1]!; i++) {
    const s = t.seats[i]!
    const duty = model.groupDuty[model.seatGroup[s]!]!
    const x = first[s]!
    if (duty === 0 || x < 0) continue
    if (duty === 1) leads++
    else deputies++
    parties |= 1 << model.unitParty[x]!
    if (second[s]! >= 0) parties |= 1 << model.unitParty[second[s]!]!
  }
  return leads > 0 && deputies > 0 && (parties === 1 || parties === 2) ? rules.leadDeputySameParty : 0
}

/** Bits of the minimums (the first 31) that a crew falls short of. */
export function lackingBits(
  model: Model,
  t: CrewTables,
  crew: number,
  first: Int32Array,
  second: Int32Array,
): number {
  let bits = 0
  for (let j = t.minimumStart[crew]!; j < t.minimumStart[crew + 1]!; j++)
    if (t.minimum[j]! < 31 && missingOf(model, t, crew, j, first, second) > 0) bits |= 1 << t.minimum[j]!
  return bits
}

/** Weighted shortfall of a crew's minimums. */
export function shortfall(
  model: Model,
  t: CrewTables,
  crew: number,
  first: Int32Array,
  second: Int32Array,
): number {
  let sum = 0
  for (let j = t.minimumStart[crew]!; j < t.minimumStart[crew + 1]!; j++) {
    const missing = missingOf(model, t, crew, j, first, second)
    if (missing > 0) sum += t.weight[j]! * missing
  }
  return sum
}

/** Members that a crew's j-th entry among the minimums still needs; at most 0: none. */
function missingOf(
  model: Model,
  t: CrewTables,
  crew: number,
  j: number,
  first: Int32Array,
  second: Int32Array,
): number {
  const m = t.minimum[j]!
  let missing = t.need[j]!
  for (let i = t.seatStart[crew]!; i < t.seatStart[crew + 1]! && missing > 0; i++) {
    const x = first[t.seats[i]!]!
    const y = second[t.seats[i]!]!
    if (x >= 0 && meets(model, t.unitBits, m, x)) missing--
    if (y >= 0 && meets(model, t.unitBits, m, y)) missing--
  }
  return missing
}
