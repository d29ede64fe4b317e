/** What to train next: the people and certificates that, once achieved, fill the most seats by priority, then mend the most
 *  violations, then cost least; the smallest such set, or the best n.
 *
 *  Method: every person is given, on paper, each certificate that seats ask for (training-model.ts). Level 1 is exact
 *  (training-seats.ts): the most seats class by class within the limit, and the fewest trainings that fill so many. A county
 *  without rules gets, of the sets that do so, one of the least cost, exactly. With rules the violations are searched
 *  (training-mend.ts): exchanges among rosters that fill as many seats and need no more trainings; then, where places are left
 *  over, with one training more at a time as long as that mends something. Each entry's effect is checked by taking it
 *  away (training-effects.ts); the roster of the plan is valued by the independent checker on an instance in which the people
 *  really hold what the plan trains them in.
 *  Limits: a person trained once for seats on several dates is counted once but planned for date by date; shared seats
 *  stay as they are; that no other set leaves fewer violations isn't proven; a hard balance is met by exchanges and by
 *  leaving seats empty, and then the number of trainings isn't proven the least either. */
import type { RosterInstance, RosterPerson, Seating } from '../schema'
import { enforceHardBalance } from './hard-balance'
import { compileModel, type Model } from './model'
import { seatingsOf } from './result'
import { RosterState } from './state'
import { TrainingEffects } from './training-effects'
import { TrainingMender } from './training-mend'
import { lockShared, type Training, type TrainingArcs, TrainingModel, trainingArcs } from './training-model'
import { planSeats, type SeatsPlan } from './training-seats'
import { evaluateRoster } from './verify'

export interface TrainingOptions {
  /** At most so many trainings: first for seats, what is left over for violations. Absent: as many as close the
   *  shortage that training can close. */
  places?: number
  /** Certificates that can be taught in time. Absent: every one that seats ask for. */
  certificates?: string[]
  /** May this person be asked to train for this certificate? Absent: everybody not excluded. */
  canTrain?: (person: RosterPerson, certificate: string) => boolean
  /** The training must count on the seats' dates; the span added on paper is [achievedBy, no end). */
  achievedBy?: string
  /** Effort of the search for violations: 1 (default) is the usual, 0 none. A count of steps, never a time. */
  workLimit?: number
  /** Seed of that search. Default 1. */
  seed?: number
}

export interface TrainingEntry {
  personId: string
  certificate: string
  /** The seat that the person would take, and the empty seat that the chain fills in the end. */
  seatId: string
  /** Seats that go empty again without this entry (priority class of each): the entry's effect, checked. */
  fills: { seatId: string; class: string }[]
  /** Of an entry without which as many seats are filled: weighted violations that the same search, from the plan's roster,
   *  leaves more then. 0 for one that fills a seat. */
  mends: number
}

export interface TrainingPlan {
  entries: TrainingEntry[]
  /** Filled seats of each class: of the roster as it is; of the plan's roster. */
  before: number[]
  after: number[]
  classes: string[]
  /** Weighted violations of the same two rosters. */
  violations: { before: number; after: number }
  /** The plan's roster. */
  seatings: Seating[]
  /** Seats that stay empty even with everybody trained. */
  beyondTraining: string[]
  /** True where the independent checker finds nothing wrong with the plan's roster, the people holding what the plan trains
   *  them in, and counts the seats that the plan promised. */
  verified: boolean
}

/** @throws RangeError as `compileModel` does. O(seats × arcs) at worst, and so many moves a seat. */
export function trainingPlan(
  instance: RosterInstance,
  roster: { seatings: readonly Seating[] },
  options: TrainingOptions = {},
): TrainingPlan {
  return new Planning(instance, roster, options).run()
}

class Planning {
  private readonly trained: TrainingModel
  private readonly places: number

  constructor(
    private readonly instance: RosterInstance,
    private readonly roster: { seatings: readonly Seating[] },
    private readonly options: TrainingOptions,
  ) {
    const { certificates, canTrain } = options
    const wanted = [
      ...new Set(
        certificates ?? instance.seats.flatMap((s) => (s.certificate === null ? [] : [s.certificate])),
      ),
    ]
    this.trained = new TrainingModel(
      lockShared(instance, roster.seatings),
      (person) => wanted.filter((key) => canTrain?.(person, key) ?? true),
      options.achievedBy ?? '0000-01-01',
    )
    this.places = options.places ?? Number.POSITIVE_INFINITY
  }

  run(): TrainingPlan {
    const { instance, trained } = this
    const ruled = hasRules(instance)
    const arcs = trainingArcs(trained, ruled ? this.seatedNow() : undefined)
    const plan = planSeats(trained, arcs, this.places)
    const mender = ruled ? this.mend(plan) : null
    if (instance.rules.balance?.mode === 'hard') this.balance(plan)
    const entries = this.entriesOf(plan, arcs, mender)
    return this.outcome(plan, entries)
  }

  /** Who sits where now, group by group. */
  private seatedNow(): (group: number, unit: number) => boolean {
    const { model } = this.trained
    const now = new Set<number>()
    for (const { seatId, personId } of this.roster.seatings) {
      const seat = model.seatIndex.get(seatId)
      const person = model.personIndex.get(personId)
      if (seat === undefined || person === undefined || model.seatGroup[seat]! < 0) continue
      const date = model.dates.indexOf(this.instance.seats[seat]!.date)
      const unit = model.unitOf[person * model.dates.length + date]!
      if (unit >= 0) now.add(model.seatGroup[seat]! * model.unitCount + unit)
    }
    return (group, unit) => now.has(group * model.unitCount + unit)
  }

  private mend(plan: SeatsPlan): TrainingMender {
    const { seed = 1, workLimit = 1 } = this.options
    const mender = new TrainingMender(this.trained, plan, seed, workLimit)
    mender.mend(this.places)
    mender.writeInto(plan)
    return mender
  }

  /** What exchanges left of a hard imbalance: by leaving seats empty, nobody more being trained. */
  private balance(plan: SeatsPlan): void {
    const model = compileModel(this.trained.planned(usedBy(this.trained, plan).keys()))
    const state = stateOf(model, plan)
    enforceHardBalance(model, state)
    plan.seats.forEach((s, r) => {
      plan.unitOf[r] = state.first[s]!
    })
  }

  private entriesOf(plan: SeatsPlan, arcs: TrainingArcs, mender: TrainingMender | null): TrainingEntry[] {
    const { trained, instance } = this
    const { classes } = trained.model
    const hard = instance.rules.balance?.mode === 'hard'
    const seatOf = (row: number) => instance.seats[plan.seats[row]!]!.id
    for (;;) {
      const used = usedBy(trained, plan)
      const effects = hard ? null : new TrainingEffects(trained, arcs, plan, new Set(used.keys()))
      const entries: TrainingEntry[] = []
      for (const [training, rows] of used) {
        const lost = effects ? rows.map((r) => effects.lostWithout(r)).filter((r) => r >= 0) : rows
        const mends = lost.length === 0 && mender ? mender.mendsOf(training) : 0
        if (mends < 0) break
        entries.push({
          ...trained.name(training),
          seatId: seatOf(rows[0]!),
          fills: lost.map((r) => ({ seatId: seatOf(r), class: classes[plan.classOf[r]!]!.key })),
          mends,
        })
      }
      if (entries.length === used.size) return entries
      mender!.writeInto(plan)
    }
  }

  private outcome(plan: SeatsPlan, entries: TrainingEntry[]): TrainingPlan {
    const { trained, instance, roster } = this
    const { model } = trained
    const state = stateOf(model, plan)
    const promised = state.filledByClass()
    const { seatings } = seatingsOf(model, state)
    const planned = trained.planned(usedBy(trained, plan).keys())
    const after = evaluateRoster(planned, seatings)
    const before = evaluateRoster(instance, [...roster.seatings])
    const empty = [...plan.unitOf.keys()].filter((r) => plan.unitOf[r]! < 0)
    const beyond = Number.isFinite(this.places) ? plan.beyond : empty
    return {
      entries,
      before: before.values.seats,
      after: after.values.seats,
      classes: model.classes.map((c) => c.key),
      violations: { before: before.values.violations, after: after.values.violations },
      seatings,
      beyondTraining: beyond.map((r) => instance.seats[plan.seats[r]!]!.id),
      verified: after.problems.length === 0 && after.values.seats.every((n, k) => n === promised[k]),
    }
  }
}

/** The plan's trainings, each with the rows that it is used for, in order of these. */
function usedBy(trained: TrainingModel, plan: SeatsPlan): Map<Training, number[]> {
  const used = new Map<Training, number[]>()
  plan.unitOf.forEach((unit, r) => {
    if (unit < 0) return
    const training = trained.trainingOf(trained.model.seatGroup[plan.seats[r]!]!, unit)
    if (training >= 0) used.set(training, [...(used.get(training) ?? []), r])
  })
  return used
}

function stateOf(model: Model, plan: SeatsPlan): RosterState {
  const state = new RosterState(model)
  plan.unitOf.forEach((unit, r) => {
    if (unit >= 0) state.put(plan.seats[r]!, 0, unit)
  })
  return state
}

function hasRules({ rules }: RosterInstance): boolean {
  const { balance, leadDeputySameParty, minimums, keepApart, keepTogether } = rules
  return (
    (balance !== null && (balance.mode === 'hard' || balance.weight > 0 || leadDeputySameParty > 0)) ||
    minimums.length + keepApart.length + keepTogether.length > 0
  )
}
