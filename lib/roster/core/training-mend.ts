/** Fewer violations with the same trainings, or with a few more: exchanges (improve.ts) on the model in which everybody
 *  is trained on paper, where a training costs as much as a long way and no move may need more trainings than the
 *  limit. Seats filled stay the same class by class. A search: what it finds is sound, that there is nothing
 *  better isn't proven. The limit grows by one at a time, each time from the best roster before, with the same
 *  moves whatever comes later: a larger limit never leaves more violations (but for what the look at single entries
 *  happens to find). */
import { type Random, seededRandom } from '@/lib/kernel/random'
import { type ChangeWatch, Exchanger, type SeatChange } from './improve'
import type { Model } from './model'
import { HARD } from './run'
import { Chains } from './seat-chains'
import { RosterState } from './state'
import type { Training, TrainingModel } from './training-model'
import type { SeatsPlan } from './training-seats'

/** Metres of a training while searching: more than any way is worth, less than a violation. */
const TRAINING = 30_000
const VIOLATION = 200_000

interface Worth {
  hardBreaches: number
  violations: number
  trainings: number
  cost: number
}

/** Negative where the first is better. */
function compareWorth(a: Worth, b: Worth): number {
  return (
    a.hardBreaches - b.hardBreaches ||
    a.violations - b.violations ||
    a.trainings - b.trainings ||
    a.cost - b.cost
  )
}

/** Counts the trainings that a roster needs, each person and certificate once, and keeps moves to a limit. */
class TrainingLimit implements ChangeWatch {
  readonly uses: Int32Array
  distinct = 0
  limit = Number.POSITIVE_INFINITY
  /** Only these, where given. */
  only: ReadonlySet<Training> | null = null

  constructor(private readonly trained: TrainingModel) {
    this.uses = new Int32Array(trained.trainingCount)
  }

  read(state: RosterState): void {
    this.uses.fill(0)
    this.distinct = 0
    for (let s = 0; s < state.model.seatCount; s++) this.add(s, state.first[s]!, 1)
  }

  allows(a: SeatChange, b: SeatChange | null): boolean {
    const first = this.needs(a.seat, a.unit)
    const second = b ? this.needs(b.seat, b.unit) : -1
    if (first < 0 && second < 0) return true
    if (this.only && ((first >= 0 && !this.only.has(first)) || (second >= 0 && !this.only.has(second))))
      return false
    this.made(a, b)
    const within = this.distinct <= this.limit
    this.change(a, -1)
    if (b) this.change(b, -1)
    return within
  }

  made(a: SeatChange, b: SeatChange | null): void {
    this.change(a, 1)
    if (b) this.change(b, 1)
  }

  private change(c: SeatChange, sign: 1 | -1): void {
    this.add(c.seat, c.unit, sign)
    this.add(c.seat, c.old, -sign)
  }

  private needs(seat: number, unit: number): Training {
    return unit < 0 ? -1 : this.trained.trainingOf(this.trained.model.seatGroup[seat]!, unit)
  }

  private add(seat: number, unit: number, n: number): void {
    const training = this.needs(seat, unit)
    if (training < 0) return
    const before = this.uses[training]!
    this.uses[training] = before + n
    if (before === 0) this.distinct++
    else if (before + n === 0) this.distinct--
  }
}

interface Pass {
  /** Metres at the first and the last move. */
  hot: number
  cold: number
  /** Moves for each seat tried. */
  moves: number
  /** Trainings beyond the limit that the way may take. */
  slack?: number
}

/** Of the whole roster, at the plan's number of trainings. The two hottest are for tiny counties: they have the least moves. */
const WHOLE_ROSTER: Pass[] = [
  { hot: 40_000, cold: 500, moves: 500 },
  { hot: 150_000, cold: 200, moves: 0 },
  { hot: 150_000, cold: 200, moves: 0, slack: 1 },
  { hot: 2000, cold: 20, moves: 200 },
]
/** Of the crews with violations, for one training more or less. */
const ONE_MORE: Pass[] = [
  { hot: 2000, cold: 20, moves: 100 },
  { hot: 40_000, cold: 500, moves: 50 },
  { hot: 150_000, cold: 200, moves: 0 },
]
/** Moves at least in a pass: small counties cost nothing. */
const LEAST_MOVES = 6000
/** Moves of all those for one training more or less, together; a pass takes at most a part of what is left. */
const MOVES_TO_GROW = 8e6
const PART = 1 / 50
/** So many trainings more without mending anything, and no more are tried. */
const PATIENCE = 3

export class TrainingMender {
  readonly state: RosterState
  private readonly model: Model
  private readonly limit: TrainingLimit
  private readonly random: Random
  private movesLeft = MOVES_TO_GROW

  constructor(
    private readonly trained: TrainingModel,
    plan: SeatsPlan,
    seed: number,
    private readonly workLimit: number,
  ) {
    const { model } = trained
    const arcCost = model.arcCost.slice()
    for (let g = 0; g < model.groupCount; g++)
      for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++)
        if (trained.trainingOf(g, model.arcUnit[a]!) >= 0) arcCost[a]! += TRAINING
    this.model = { ...model, arcCost }
    this.state = new RosterState(this.model)
    plan.unitOf.forEach((u, r) => {
      if (u >= 0) this.state.put(plan.seats[r]!, 0, u)
    })
    this.limit = new TrainingLimit(trained)
    this.random = seededRandom(seed)
  }

  writeInto(plan: SeatsPlan): void {
    plan.seats.forEach((s, r) => {
      plan.unitOf[r] = this.state.first[s]!
    })
  }

  /** Fewer violations: first with as many trainings as there are, then with one more at a time up to `places`. */
  mend(places: number): void {
    if (this.workLimit === 0) return
    const needed = this.worth().trainings
    this.search(needed, WHOLE_ROSTER)
    let { violations } = this.worth()
    if (!Number.isFinite(places)) return
    let idle = 0
    for (let n = needed + 1; n <= places && violations > 0 && idle < PATIENCE; n++) {
      this.search(n, ONE_MORE, this.brokenSeats())
      const now = this.worth()
      idle = now.violations < violations ? 0 : idle + 1
      violations = now.violations
    }
  }

  /** Violations that the search leaves more without a training; where they are no more, the roster found is kept, and the
   *  answer is −1. */
  mendsOf(training: Training): number {
    const before = this.worth()
    const kept = this.state.first.slice()
    const only = this.trainings()
    only.delete(training)
    const left = this.leaveOut(training, only)
    if (left && this.workLimit > 0) this.search(only.size, ONE_MORE, this.brokenSeats(), only)
    const { violations, hardBreaches } = this.worth()
    if (left && violations <= before.violations && hardBreaches <= before.hardBreaches) return -1
    this.state.seatOfUnit.fill(-1)
    kept.forEach((u, s) => {
      this.state.put(s, 0, u)
    })
    return left ? Math.max(0, violations - before.violations) : 0
  }

  /** Free seats of the crews that break a rule and of people who are apart or together against one. */
  private brokenSeats(): Int32Array {
    const { state, model } = this
    const crews = new Set<number>()
    for (let c = 0; c < model.crews.length; c++)
      if (state.crewViolation(c) > 0 || state.hardBreach(c) > 0) crews.add(c)
    state.seatOfUnit.forEach((seat, unit) => {
      if (seat >= 0 && state.pairViolation(unit) > 0) crews.add(model.seatCrew[seat]!)
    })
    return Int32Array.from(
      [...crews]
        .sort((a, b) => a - b)
        .flatMap((c) => model.crews[c]!.groups.flatMap((g) => model.groupSeats[g]!)),
    )
  }

  private worth(state = this.state): Worth {
    this.limit.read(state)
    const { distinct, uses } = this.limit
    const paid = uses.reduce((sum, n) => sum + n, 0)
    return {
      hardBreaches: state.hardBreaches(),
      violations: state.violations(),
      trainings: distinct,
      cost: state.cost() - TRAINING * paid,
    }
  }

  private trainings(): Set<Training> {
    this.limit.read(this.state)
    const set = new Set<Training>()
    this.limit.uses.forEach((n, t) => {
      if (n > 0) set.add(t)
    })
    return set
  }

  /** Betters the roster as far as the passes find something. `seats`: those to try, all where absent. */
  private search(
    limit: number,
    passes: readonly Pass[],
    seats?: Int32Array,
    only: ReadonlySet<Training> | null = null,
  ): void {
    const trial = new RosterState(this.model)
    let best = this.worth()
    for (const pass of passes) {
      trial.copyFrom(this.state)
      this.limit.read(trial)
      this.limit.limit = limit + (pass.slack ?? 0)
      this.limit.only = only
      const wanted = pass.moves * (seats?.length ?? this.model.seatCount)
      const moves = Math.max(LEAST_MOVES, seats ? Math.min(wanted, this.movesLeft * PART) : wanted)
      if (seats) this.movesLeft -= moves
      new Exchanger(this.model, trial).run({
        violationPrice: VIOLATION,
        hardPrice: HARD,
        moves: Math.ceil(moves * this.workLimit),
        hot: pass.hot,
        cold: pass.cold,
        random: this.random,
        neighbours: 40,
        watch: this.limit,
        refill: true,
        ...(seats ? { seats } : {}),
      })
      const found = this.worth(trial)
      if (found.trainings > limit || compareWorth(found, best) >= 0) continue
      best = found
      this.state.copyFrom(trial)
    }
  }

  /** Takes everybody off the seats of a training, so that as many of each class stay filled with only the trainings given.
   *  False where that can't be done; the roster is then left half changed. */
  private leaveOut(training: Training, only: ReadonlySet<Training>): boolean {
    const { state, model, trained } = this
    const chains = new Chains(state, (g, u) => {
      const needed = trained.trainingOf(g, u)
      return needed < 0 || only.has(needed)
    })
    for (let s = 0; s < model.seatCount; s++) {
      const unit = state.first[s]!
      if (unit < 0 || trained.trainingOf(model.seatGroup[s]!, unit) !== training) continue
      state.put(s, 0, -1)
      if (!chains.fill(s) && !chains.fillAnother(chains.leaveLast(s))) return false
    }
    return true
  }
}
