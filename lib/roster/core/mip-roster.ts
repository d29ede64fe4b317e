/** Level 3 of a roster as a mixed-integer model: the whole county, or a window of crews with the rest held as it is.
 *
 *  Columns: x_a for an arc taken (whole), h_g for seats of group g shared by halves, and for each crew the excess of
 *  its balance, its lead/deputy violation, the shortfall of each minimum; for each pair kept apart or together its
 *  violation. Rows: a unit at most once; seats filled a group (or a class, where seats stay empty); violations at
 *  most V in all. Objective: metres of the arcs in the model. Every rule of the schema is in it, so an optimum of the
 *  whole model is an optimum of level 3 for the seats filled and V. O(arcs kept + rules). */

import { AFTERNOON, MORNING, meetsMinimum, partiesOf, partyClass, WHOLE } from './eligibility'
import { MipModel } from './mip-model'
import { netted, pairSides, type Side, type Where } from './mip-sides'
import type { Model } from './model'
import type { RosterState } from './state'

const INF = Number.POSITIVE_INFINITY

export interface RosterMip {
  mip: MipModel
  /** Arc of each of the first columns. */
  arcs: Int32Array
  /** Group of each of those arcs. */
  groups: Int32Array
  /** Metres that the model leaves out: locks and crews held as they are. */
  constant: number
  /** Column values of the state: a first solution. */
  start: number[]
  /** Rows whose duals are prices: of units, of minimums by crew, of classes with empty seats, of the violations. */
  unitRows: [row: number, unit: number][]
  minimumRows: [row: number, minimum: number, crew: number][]
  classRows: [row: number, class_: number][]
  budgetRow: number
  /** Rows of pairs kept apart or together: from the first up to, not including, the second. */
  pairRows: [from: number, to: number]
}

export interface RosterMipOptions {
  /** Seats filled of each class in all, locked ones included. */
  filled: readonly number[]
  /** Weighted violations allowed in all. */
  violations: number
  /** The roster outside the window; inside it is the start. */
  state: RosterState
  /** Crews that may change; absent: all. */
  crews?: readonly number[]
  /** Arcs that may be used; absent: all. An arc that the state uses is always kept. */
  keep?: (arc: number) => boolean
  /** What is least: metres (level 3, default) or weighted violations (level 2; V isn't looked at then). */
  objective?: 'metres' | 'violations'
}

export function buildRosterMip(model: Model, options: RosterMipOptions): RosterMip {
  return new Builder(model, options).build()
}

class Builder {
  private readonly mip = new MipModel('min')
  private readonly arcs: number[] = []
  private readonly arcGroups: number[] = []
  private readonly start: number[] = []
  /** Columns of each crew by person met: filled while arcs are added. */
  private readonly crewColumns = new Map<number, number[]>()
  /** Of groups with shared seats: how many are. */
  private readonly sharedColumn = new Map<number, number>()
  private readonly crews: readonly number[]
  private readonly inside: Uint8Array
  /** Columns and weights of the violations. */
  private readonly violationColumns: number[] = []
  private readonly violationWeights: number[] = []
  private readonly unitRows: [number, number][] = []
  private readonly minimumRows: [number, number, number][] = []
  private readonly classRows: [number, number][] = []
  private budgetRow = -1
  private readonly people
  private readonly rules

  constructor(
    private readonly model: Model,
    private readonly options: RosterMipOptions,
  ) {
    this.crews = options.crews ?? model.crews.map((_, c) => c)
    this.inside = new Uint8Array(model.crews.length)
    for (const c of this.crews) this.inside[c] = 1
    this.people = model.instance.people
    this.rules = model.instance.rules
  }

  build(): RosterMip {
    this.addArcs()
    this.addCrewRules()
    const beforePairs = this.mip.rows.length
    this.addPairs()
    const afterPairs = this.mip.rows.length
    this.budget()
    return {
      mip: this.mip,
      arcs: Int32Array.from(this.arcs),
      groups: Int32Array.from(this.arcGroups),
      constant: this.constant(),
      start: this.start,
      unitRows: this.unitRows,
      minimumRows: this.minimumRows,
      classRows: this.classRows,
      budgetRow: this.budgetRow,
      pairRows: [beforePairs, afterPairs],
    }
  }

  private constant(): number {
    const { model, options } = this
    let inside = 0
    if (options.objective === 'violations') {
      this.violationColumns.forEach((v, i) => {
        inside += this.violationWeights[i]! * this.start[v]!
      })
      return options.state.violations() - inside
    }
    for (let i = 0; i < this.arcs.length; i++)
      if (this.start[i]! > 0.5) inside += model.arcCost[this.arcs[i]!]!
    return options.state.cost() - inside
  }

  private addArcs(): void {
    const { model, mip, options } = this
    const { state } = options
    const byUnit = new Map<number, number[]>()
    const groupTotals: { g: number; columns: number[]; factors: number[] }[] = []
    const halves: [number, number[]][] = []
    for (const c of this.crews) {
      const columns: number[] = []
      for (const g of model.crews[c]!.groups) {
        const whole: number[] = []
        const parts: number[][] = [[], [], []]
        for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++) {
          const u = model.arcUnit[a]!
          const seat = state.seatOfUnit[u]!
          if (seat >= 0 && !this.inside[model.seatCrew[seat]!]) continue
          const used = this.uses(g, u, model.arcKind[a]!)
          if (model.unitLocked[u] || (!used && options.keep && !options.keep(a))) continue
          const x = mip.column(options.objective === 'violations' ? 0 : model.arcCost[a]!, 0, 1, true)
          this.arcs.push(a)
          this.arcGroups.push(g)
          this.start.push(used ? 1 : 0)
          columns.push(x)
          const list = byUnit.get(u)
          if (list) list.push(x)
          else byUnit.set(u, [x])
          if (model.arcKind[a] === WHOLE) whole.push(x)
          else parts[model.arcKind[a]!]!.push(x)
        }
        groupTotals.push({ g, columns: whole, factors: whole.map(() => 1) })
        if (parts[MORNING]!.length > 0 && parts[AFTERNOON]!.length > 0) {
          halves.push([groupTotals.length - 1, parts[MORNING]!], [-1, parts[AFTERNOON]!])
        } else for (const x of [...parts[MORNING]!, ...parts[AFTERNOON]!]) mip.upper[x] = 0
      }
      this.crewColumns.set(c, columns)
    }
    // Shared seats come after the arcs, so that arcs are the first columns.
    for (let i = 0; i < halves.length; i += 2) {
      const [at, morning] = halves[i]!
      const [, afternoon] = halves[i + 1]!
      const total = groupTotals[at]!
      const h = mip.column(0, 0, model.groupSeats[total.g]!.length, false)
      this.start.push(morning.reduce((sum, x) => sum + this.start[x]!, 0))
      for (const part of [morning, afternoon]) mip.row([...part, h], [...part.map(() => 1), -1], 0, 0)
      this.sharedColumn.set(total.g, h)
      total.columns.push(h)
      total.factors.push(1)
    }
    for (const [unit, columns] of byUnit)
      this.unitRows.push([
        mip.row(
          columns,
          columns.map(() => 1),
          -INF,
          1,
        ),
        unit,
      ])
    this.fillSeats(groupTotals)
  }

  private uses(group: number, unit: number, kind: number): boolean {
    const { model, options } = this
    const seat = options.state.seatOfUnit[unit]!
    if (seat < 0 || model.seatGroup[seat] !== group) return false
    const shared = options.state.second[seat]! >= 0
    return kind === (shared ? (options.state.first[seat] === unit ? MORNING : AFTERNOON) : WHOLE)
  }

  private fillSeats(totals: readonly { g: number; columns: number[]; factors: number[] }[]): void {
    const { model, mip, options } = this
    const outside = [...model.lockedFilled]
    for (let s = 0; s < model.seatCount; s++)
      if (model.seatGroup[s]! >= 0 && !this.inside[model.seatCrew[s]!] && options.state.first[s]! >= 0)
        outside[model.groupClass[model.seatGroup[s]!]!]!++
    const byClass = model.classes.map(() => ({ columns: [] as number[], factors: [] as number[] }))
    for (const { g, columns, factors } of totals) {
      const k = model.groupClass[g]!
      const full = options.filled[k] === model.classes[k]!.seats
      const seats = model.groupSeats[g]!.length
      mip.row(columns, factors, full ? seats : -INF, seats)
      byClass[k]!.columns.push(...columns)
      byClass[k]!.factors.push(...factors)
    }
    byClass.forEach(({ columns, factors }, k) => {
      const n = options.filled[k]! - outside[k]!
      if (columns.length > 0 && options.filled[k] !== model.classes[k]!.seats)
        this.classRows.push([mip.row(columns, factors, n, n), k])
    })
  }

  /** A violation column ≥ constant + Σ factors × columns, counted with a weight. */
  private violation(weight: number, sides: Side[]): number {
    const v = this.mip.column(this.options.objective === 'violations' ? weight : 0, 0, INF, false)
    let start = 0
    let row = -1
    for (const { columns, factors, constant } of sides) {
      row = this.mip.row([...columns, v], [...factors, -1], -INF, -constant)
      start = Math.max(
        start,
        columns.reduce((sum, x, i) => sum + factors[i]! * this.start[x]!, constant),
      )
    }
    this.start.push(start)
    this.violationColumns.push(v)
    this.violationWeights.push(weight)
    return row
  }

  private addCrewRules(): void {
    for (const c of this.crews) {
      const columns = this.crewColumns.get(c)!
      if (this.rules.balance) this.addBalance(c, columns)
      if (this.rules.leadDeputySameParty > 0 && this.rules.balance) this.addDuty(c, columns)
      for (const m of this.model.crews[c]!.minimums) this.addMinimum(c, m, columns)
    }
  }

  private addBalance(crew: number, columns: number[]): void {
    const { model, mip } = this
    const rule = this.rules.balance!
    if (rule.mode === 'soft' && rule.weight === 0) return
    const [a, b] = partiesOf(model.instance)
    const halves =
      columns.some((x) => this.halfOf(x) !== WHOLE) || model.crews[crew]!.locked.some((l) => l.half !== WHOLE)
    const sides: Side[] = []
    let lockedExcess = 0
    for (const other of halves ? [AFTERNOON, MORNING] : [AFTERNOON]) {
      let constant = 0
      for (const l of model.crews[crew]!.locked)
        if (l.half !== other) {
          const p = partyClass(this.people[l.person]!.party, a, b)
          constant += p === 0 ? 1 : p === 1 ? -1 : 0
        }
      lockedExcess = Math.max(lockedExcess, Math.abs(constant) - rule.maxDifference)
      const list = columns.filter((x) => this.halfOf(x) !== other && this.partyOf(x) < 2)
      const factors = list.map((x) => (this.partyOf(x) === 0 ? 1 : -1))
      for (const sign of [1, -1])
        sides.push({
          columns: list,
          factors: factors.map((f) => sign * f),
          constant: sign * constant - rule.maxDifference,
        })
    }
    if (rule.mode === 'soft') this.violation(rule.weight, sides)
    else for (const s of sides) mip.row(s.columns, s.factors, -INF, Math.max(0, lockedExcess) - s.constant)
  }

  /** Both duties filled, and nobody among them outside one party. */
  private addDuty(crew: number, columns: number[]): void {
    const { model, mip } = this
    const [a, b] = partiesOf(model.instance)
    const lockedDuty = { lead: 0, deputy: 0 }
    const lockedParties: number[] = []
    for (const l of model.crews[crew]!.locked) {
      const { duty } = model.instance.seats[l.seat]!
      if (duty === null) continue
      lockedDuty[duty]++
      lockedParties.push(partyClass(this.people[l.person]!.party, a, b))
    }
    const of = (duty: number) => columns.filter((x) => model.groupDuty[this.arcGroups[x]!] === duty)
    const seatsOf = (duty: number) =>
      model.crews[crew]!.groups.reduce(
        (sum, g) => sum + (model.groupDuty[g] === duty ? model.groupSeats[g]!.length : 0),
        0,
      )
    /** 'Somebody has this duty' as a linear form. */
    const present = (duty: number, locked: number) => {
      const list = of(duty)
      if (locked > 0) return { columns: [], factors: [], constant: 1 }
      if (seatsOf(duty) <= 1) {
        const taken = list.filter((x) => model.arcKind[this.arcs[x]!] === WHOLE)
        const shared = list.length > 0 ? this.sharedColumn.get(this.arcGroups[list[0]!]!) : undefined
        if (shared !== undefined) taken.push(shared)
        return { columns: taken, factors: taken.map(() => 1), constant: 0 }
      }
      const y = mip.column(0, 0, 1, false)
      this.start.push(list.some((x) => this.start[x]! > 0.5) ? 1 : 0)
      for (const x of list) mip.row([x, y], [1, -1], -INF, 0)
      return { columns: [y], factors: [1], constant: 0 }
    }
    const lead = present(1, lockedDuty.lead)
    const deputy = present(2, lockedDuty.deputy)
    if (lead.columns.length + lead.constant === 0 || deputy.columns.length + deputy.constant === 0) return
    const everybody = [...of(1), ...of(2)]
    const sides = [0, 1].map((party) => {
      const strangers = everybody.filter((x) => this.partyOf(x) !== party)
      return {
        columns: [...lead.columns, ...deputy.columns, ...strangers],
        factors: [...lead.factors, ...deputy.factors, ...strangers.map(() => -1)],
        constant: lead.constant + deputy.constant - 1 - lockedParties.filter((p) => p !== party).length,
      }
    })
    // A column that stands on both sides (a lead of another party) cancels out.
    this.violation(this.rules.leadDeputySameParty, sides.map(netted))
  }

  private addMinimum(crew: number, minimum: number, columns: number[]): void {
    const rule = this.rules.minimums[minimum]!
    if (rule.weight === 0) return
    const meeting = columns.filter((x) => meetsMinimum(this.people[this.personOf(x)]!, rule))
    const have = this.model.crews[crew]!.locked.filter((l) =>
      meetsMinimum(this.people[l.person]!, rule),
    ).length
    if (rule.count <= have) return
    const row = this.violation(rule.weight, [
      { columns: meeting, factors: meeting.map(() => -1), constant: rule.count - have },
    ])
    this.minimumRows.push([row, minimum, crew])
  }

  /** Pairs with somebody in the window. */
  private addPairs(): void {
    const { model } = this
    const columnsOf = new Map<number, number[]>()
    this.arcs.forEach((a, x) => {
      const u = model.arcUnit[a]!
      columnsOf.set(u, [...(columnsOf.get(u) ?? []), x])
    })
    for (const [pairs, apart] of [
      [this.rules.keepApart, true],
      [this.rules.keepTogether, false],
    ] as const)
      for (const pair of pairs) {
        const [p, q] = pair.people.map((id) => model.personIndex.get(id)!) as [number, number]
        for (let d = 0; d < model.dates.length; d++) {
          const [x, y] = [p, q].map((person) => this.whereabouts(person, d, columnsOf)) as [Where, Where]
          if (x.columns.length + y.columns.length > 0) this.addPair(x, y, apart, pair.weight)
        }
      }
  }

  private whereabouts(person: number, date: number, columnsOf: Map<number, number[]>): Where {
    const { model, options } = this
    const unit = model.unitOf[person * model.dates.length + date]!
    const columns = unit < 0 ? [] : (columnsOf.get(unit) ?? [])
    // Somebody outside the window, or locked, stays where they are.
    const fixed = columns.length > 0 ? -1 : options.state.placeOf(person, date)
    return { columns, fixed }
  }

  private addPair(x: Where, y: Where, apart: boolean, weight: number): void {
    const { model } = this
    const placeOf = (column: number) => model.crewPlace[model.groupCrew[this.arcGroups[column]!]!]!
    const sides = pairSides(x, y, apart, placeOf)
    if (sides.length > 0) this.violation(weight, sides)
  }

  /** What the rules in the model may add up to: V less what stays outside. */
  private budget(): void {
    const { mip, options, violationColumns, violationWeights } = this
    if (options.objective === 'violations' || violationColumns.length === 0) return
    let left = options.violations - options.state.violations()
    violationColumns.forEach((v, i) => {
      left += violationWeights[i]! * this.start[v]!
    })
    violationColumns.forEach((v, i) => {
      mip.upper[v] = Math.max(0, left) / violationWeights[i]!
    })
    if (left > 0) this.budgetRow = mip.row(violationColumns, violationWeights, -INF, left)
  }

  private readonly halfOf = (column: number): number => {
    const shift = this.model.groupShift[this.arcGroups[column]!]!
    return shift === WHOLE ? this.model.arcKind[this.arcs[column]!]! : shift
  }
  private readonly personOf = (column: number) =>
    this.model.unitPerson[this.model.arcUnit[this.arcs[column]!]!]!
  private readonly partyOf = (column: number) =>
    this.model.unitParty[this.model.arcUnit[this.arcs[column]!]!]!
}
