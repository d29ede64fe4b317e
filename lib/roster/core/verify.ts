/** An independent checker of roster results. It reads the instance itself and shares no code with the solver but the
 *  distance formula and the interval test: feasibility, the value of each level, and the bounds recomputed from the
 *  proof (covers at level 1, prices at every level). A claim it can't confirm is a problem; a level closed by search
 *  is named in `notRepeated`. O(seat kinds × people + crews × seats³).
 *
 *  The bound is the one defined at the head of bound.ts, recomputed here crew by crew with a plain table over
 *  (party difference, leads' party). */
import type { RosterInstance, RosterResult, RosterSeat, Seating } from '../schema'
import { coverSize, lagrangian } from './verify-proof'
import { Reader, type Verdict } from './verify-reader'
import { checkRoster } from './verify-values'

/** Values of any roster, and what is wrong with it: the checker's first half, for oracles and boards. */
export function evaluateRoster(
  instance: RosterInstance,
  seatings: Seating[],
): { values: Verdict['values']; problems: Verdict['problems'] } {
  const problems: Verdict['problems'] = []
  const reader = new Reader(instance)
  const rows = new Map<string, number>()
  for (const { seatId } of seatings) rows.set(seatId, (rows.get(seatId) ?? 0) + 1)
  // A seat with one half locked has that row in any case.
  const least = (s: RosterSeat) => (reader.shiftOf(s) === s.shift ? 1 : 2)
  const empty = instance.seats.filter((s) => (rows.get(s.id) ?? 0) < least(s)).map((s) => s.id)
  const values = checkRoster(reader, { seatings, empty }, (where, message) =>
    problems.push({ where, message }),
  )
  return { values, problems }
}

/** Ways in which a person may take a seat, by the checker's own reading: bit 0 alone, bit 1 morning, bit 2 afternoon. */
export function waysToServe(instance: RosterInstance, personId: string, seatId: string): number {
  const reader = new Reader(instance)
  return reader.ways(reader.people.get(personId)!, reader.seats.get(seatId)!)
}

/** Checks a result against its instance. Never throws for a wrong result: it says what is wrong. */
export function verifyRoster(instance: RosterInstance, result: RosterResult): Verdict {
  const problems: Verdict['problems'] = []
  const say = (where: string, message: string) => problems.push({ where, message })
  const reader = new Reader(instance)
  const values = checkRoster(reader, result, say)
  const kinds = reader.kinds()
  const total = (upTo: number) => values.seats.slice(0, upTo + 1).reduce((a, b) => a + b, 0)
  const lockedFilled = reader.classKeys.map(
    (_, k) => [...reader.lockedSeats].filter((id) => reader.classOf(reader.seats.get(id)!) === k).length,
  )

  // Level 1.
  const seatBounds: (number | null)[] = reader.classKeys.map((_, k) => {
    let best: number | null = null
    const cover = result.proof.covers[k]
    if (cover) {
      const size = coverSize(kinds, cover, k, say)
      if (size !== null) best = size + lockedFilled.slice(0, k + 1).reduce((a, b) => a + b, 0)
    }
    const priced = result.proof.level1[k]
    if (priced) {
      const earn = reader.classKeys.map((_, j) => (j <= k ? priced.scale : 0))
      const value = lagrangian(reader, kinds, priced, {
        costFactor: 0,
        ownViolation: 0,
        allowed: null,
        filled: reader.classKeys.map(() => null),
        earn,
        lockedFilled,
        lockedCost: 0,
      })
      const bound = Math.floor(-value / priced.scale + 1e-9)
      if (best === null || bound < best) best = bound
    }
    return best
  })
  const report = (level: number) => result.levels.find((l) => l.level === level)
  const notRepeated: number[] = []
  const one = report(1)
  if (!one) say('levels', 'level 1 is missing')
  else {
    if (String(one.value) !== String(values.seats))
      say('levels.1.value', `is ${one.value}, recomputed ${values.seats}`)
    let gap = 0
    one.bound?.forEach((claimed, k) => {
      gap = Math.max(gap, claimed - total(k))
      if (claimed < total(k)) say('levels.1.bound', `class ${k}: below the seats filled`)
      if (one.closedBy !== 'search' && (seatBounds[k] === null || claimed < seatBounds[k]!))
        say('levels.1.bound', `class ${k}: claims at most ${claimed}, the proof gives ${seatBounds[k]}`)
    })
    if (!one.bound || one.bound.length !== reader.classKeys.length)
      say('levels.1.bound', 'one entry a class is needed')
    if (one.gap !== gap) say('levels.1.gap', `is ${one.gap}, recomputed ${gap}`)
    if (one.closedBy === 'duals' && gap !== 0) say('levels.1.closedBy', 'claims closed with a gap')
    if (one.closedBy === 'search') notRepeated.push(1)
  }

  // Levels 2 and 3.
  const filled = values.seats
  const base = { filled, earn: filled.map(() => 0), lockedFilled }
  let violationBound: number | null = 0
  if (result.proof.level2) {
    const value = lagrangian(reader, kinds, result.proof.level2, {
      ...base,
      costFactor: 0,
      ownViolation: result.proof.level2.scale,
      allowed: null,
      lockedCost: 0,
    })
    violationBound = Math.max(0, Math.ceil(value / result.proof.level2.scale - 1e-9))
  }
  let costBound: number | null = null
  if (result.proof.level3) {
    const lockedCost = instance.locks.reduce(
      (sum, l) => sum + reader.cost(reader.people.get(l.personId)!, reader.seats.get(l.seatId)!),
      0,
    )
    const value = lagrangian(reader, kinds, result.proof.level3, {
      ...base,
      costFactor: 1,
      ownViolation: 0,
      allowed: values.violations,
      lockedCost,
    })
    costBound = Math.max(0, Math.ceil(value - 1e-6))
  }
  for (const [level, value, bound] of [
    [2, values.violations, violationBound],
    [3, values.cost, costBound],
  ] as const) {
    const r = report(level)
    if (!r) {
      say('levels', `level ${level} is missing`)
      continue
    }
    if (r.value.length !== 1 || r.value[0] !== value)
      say(`levels.${level}.value`, `is ${r.value}, recomputed ${value}`)
    if (r.closedBy === 'search') notRepeated.push(level)
    if (!r.bound) continue
    if (r.bound[0]! > value) say(`levels.${level}.bound`, 'lies above the value')
    if (r.closedBy !== 'search' && (bound === null || r.bound[0]! > bound))
      say(`levels.${level}.bound`, `claims at least ${r.bound[0]}, the proof gives ${bound}`)
    const gap = level === 2 ? value - r.bound[0]! : value === 0 ? 0 : (value - r.bound[0]!) / value
    if (r.gap === null || Math.abs(r.gap - gap) > 1e-9)
      say(`levels.${level}.gap`, `is ${r.gap}, recomputed ${gap}`)
    if ((r.closedBy === 'duals' || r.closedBy === 'search') && r.bound[0] !== value)
      say(`levels.${level}.closedBy`, 'claims closed with a gap')
  }
  if (result.status === 'optimal' && result.levels.some((l) => l.gap !== 0))
    say('status', 'claims optimal while a level is open')
  return {
    ok: problems.length === 0,
    problems,
    values,
    bounds: { seats: seatBounds, violations: violationBound, cost: costBound },
    notRepeated,
  }
}
