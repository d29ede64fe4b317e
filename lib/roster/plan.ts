import { type TodoItem, todo } from '@/lib/certification/core/todo'
import { canStillDo, todoLines } from '@/lib/certification/core/todo-lines'
import type { ElectionDate, Fact, Policy } from '@/lib/certification/schema'
import { dateInWords } from '@/lib/kernel/date-words'
import type { CivilDate } from '@/lib/kernel/dates'
import { toMiles } from '@/lib/kernel/miles'
import { type Ineligibility, metresBetween } from './core/eligibility'
import { explainEmptySeats, type SeatExplanation } from './core/explain'
import { prepareRoster } from './core/prepared'
import { type TrainingEntry, trainingPlan } from './core/training'
import type { EmptySeatReason, TrainingStep } from './outcome'
import type { RosterInstance, RosterSeat, Seating } from './schema'

/** What follows from a solved roster: why each empty seat stays empty, and whom to train. Pure; run in a thread. */

export interface PlanInput {
  instance: RosterInstance
  seatings: Seating[]
  today: CivilDate
  heldOn: CivilDate
  policies: [certificateKey: string, policy: Policy][]
  facts: [personId: string, facts: Fact[]][]
  elections: ElectionDate[]
  /** Person → the certificate of the position that they want. */
  wishes: [personId: string, certificateKey: string][]
  positions: { key: string; name: string; certificateKey: string }[]
}

export interface PlanFound {
  empty: EmptySeatReason[]
  training: TrainingStep[]
  /** Seats filled when solved again with the training. */
  filledWithTraining: number
  /** Weighted breaches of rules, now and with the training. */
  violations: { before: number; after: number } | null
  notes: string[]
}

/** First the people who want the position that lacks people, then, for what is still short, everybody who could be
 *  certified in time. Each round takes the fewest trainings, nearest people first, and is checked by solving again. In a
 *  large county only people near a place are asked for it (see `nearOnly`). */
export function explainAndPlan(input: PlanInput, onProgress: (share: number) => void = () => {}): PlanFound {
  const { seatings } = input
  const seatOf = new Map(input.instance.seats.map((s) => [s.id, s]))
  const nameOf = new Map(input.positions.map((p) => [p.key, p.name]))
  const empty: PlanFound['empty'] = []
  const short = new Set<string>()
  for (const explanation of explainEmptySeats(prepareRoster(input.instance, { seatings }))) {
    const seat = seatOf.get(explanation.seatId)!
    const reason = reasonOf(explanation, seat, nameOf.get(seat.position) ?? seat.position)
    const shared = sharedReasonOf(explanation)
    empty.push({ seatId: seat.id, reason, ...(shared === null ? {} : { shared }) })
    if (seat.certificate) short.add(seat.certificate)
  }
  onProgress(0.3)
  const filled = input.instance.seats.length - empty.length
  const wanted = [...short]
  if (wanted.length === 0)
    return { empty, training: [], filledWithTraining: filled, violations: null, notes: [] }

  const policies = new Map(input.policies)
  const facts = new Map(input.facts)
  const wish = new Map(input.wishes)
  const left = new Map<string, TodoItem[] | null>()
  /** What a person still has to do for a certificate; null where it can't be done in time. */
  const missingFor = (personId: string, certificate: string): TodoItem[] | null => {
    const key = `${personId}|${certificate}`
    const known = left.get(key)
    if (known !== undefined) return known
    const policy = policies.get(certificate)
    const items = policy ? todo(policy, facts.get(personId) ?? [], input.elections, input.heldOn) : []
    const can = items.length > 0 && items.every(trainable)
    left.set(key, can ? items : null)
    return can ? items : null
  }
  const { instance, reachKm } = nearOnly(input.instance, seatings)
  const dates = instance.seats.map((s) => s.date).sort()
  const options = { certificates: wanted, achievedBy: input.today < dates[0]! ? input.today : dates[0]! }
  const asked = [...wish].some(([person, certificate]) => missingFor(person, certificate) !== null)
    ? trainingPlan(
        instance,
        { seatings },
        {
          ...options,
          canTrain: (person, certificate) =>
            wish.get(person.id) === certificate && missingFor(person.id, certificate) !== null,
        },
      )
    : null
  onProgress(0.65)
  const sum = (xs: number[]) => xs.reduce((a, b) => a + b, 0)
  let entries = asked?.entries ?? []
  let violations = asked?.violations ?? null
  let after = asked ? sum(asked.after) : filled
  let beyond = asked?.beyondTraining.length ?? 0
  if (after < instance.seats.length) {
    const trained = withCertificates(instance, entries, options.achievedBy)
    const more = trainingPlan(
      trained,
      { seatings },
      {
        ...options,
        canTrain: (person, certificate) => missingFor(person.id, certificate) !== null,
      },
    )
    // Whoever is trained in the first round may take any seat in the second; only new trainings count.
    const known = new Set(entries.map((e) => `${e.personId}|${e.certificate}`))
    entries = [...entries, ...more.entries.filter((e) => !known.has(`${e.personId}|${e.certificate}`))]
    after = Math.max(after, sum(more.after))
    beyond = more.beyondTraining.length
    violations = { before: violations?.before ?? more.violations.before, after: more.violations.after }
  }
  onProgress(1)
  return {
    empty,
    filledWithTraining: after,
    violations,
    training: entries.map((entry) => ({
      personId: entry.personId,
      certificateKey: entry.certificate,
      takesSeatId: entry.seatId,
      seatIds: entry.fills.map((f) => f.seatId),
      mends: entry.mends,
      missing: todoLines(missingFor(entry.personId, entry.certificate) ?? []),
    })),
    notes: [
      ...(beyond > 0
        ? [
            `${beyond} ${beyond === 1 ? 'seat' : 'seats'} would stay empty even with training: more people are needed, or people who are nearer or free on that day.`,
          ]
        : []),
      ...(reachKm === null
        ? []
        : [
            `So large a county is planned near by: for training, only people within ${Math.ceil(toMiles(reachKm))} miles of a place were looked at for it.`,
          ]),
    ],
  }
}

/** Pairs of seats and people up to which a training plan looks at all of them. */
const MOST_PAIRS = 100e6
/** Else, so many people around a place of the middle sort, over so many places looked at. */
const PEOPLE_NEAR = 500
const PLACES_LOOKED_AT = 60

/** In a large county (hundreds of millions of pairs) everybody who may be asked to train for a seat is too many: the
 *  instance with no way longer than what reaches `PEOPLE_NEAR` people from the median place. Who sits further away stays. */
export function nearOnly(
  instance: RosterInstance,
  seatings: readonly Seating[],
  { mostPairs = MOST_PAIRS, peopleNear = PEOPLE_NEAR } = {},
): { instance: RosterInstance; reachKm: number | null } {
  const { seats, people, places, rules } = instance
  if (seats.length * people.length <= mostPairs) return { instance, reachKm: null }
  const step = Math.ceil(places.length / PLACES_LOOKED_AT)
  const reaches = places
    .filter((_, i) => i % step === 0)
    .map(({ at }) => Float64Array.from(people, (p) => metresBetween(p.at, at)).sort()[peopleNear]!)
    .sort((a, b) => a - b)
  const reachKm = Math.min(
    reaches[reaches.length >> 1]! / 1000,
    rules.maxTravelKm ?? Number.POSITIVE_INFINITY,
  )
  const homeOf = new Map(people.map((p) => [p.id, p.at]))
  const placeOf = new Map(places.map((p) => [p.id, p.at]))
  const at = new Map(seats.map((s) => [s.id, placeOf.get(s.placeId)!]))
  const locked = new Set(instance.locks.map((l) => `${l.seatId}|${l.personId}`))
  const far = seatings.filter(
    (s) =>
      metresBetween(homeOf.get(s.personId)!, at.get(s.seatId)!) > reachKm * 1000 &&
      !locked.has(`${s.seatId}|${s.personId}`),
  )
  return {
    instance: {
      ...instance,
      rules: { ...rules, maxTravelKm: reachKm },
      locks: [...instance.locks, ...far],
    },
    reachKm,
  }
}

/** A choice has at least one part that can be done, or the rule holds for nobody new. */
const trainable = (item: TodoItem): boolean => item.choices.length > 0 || canStillDo(item)

function withCertificates(
  instance: RosterInstance,
  entries: readonly TrainingEntry[],
  from: string,
): RosterInstance {
  const added = new Map<string, string[]>()
  for (const e of entries) added.set(e.personId, [...(added.get(e.personId) ?? []), e.certificate])
  return {
    ...instance,
    people: instance.people.map((person) => {
      const keys = added.get(person.id)
      return keys
        ? {
            ...person,
            certificates: [
              ...person.certificates,
              ...keys.map((key) => ({ key, spans: [{ from: from as CivilDate, until: null }] })),
            ],
          }
        : person
    }),
  }
}

const REFUSED_WORDS: Partial<Record<Ineligibility, (n: number) => string>> = {
  availability: (n) => `${n} not available then`,
  skill: (n) => `${n} without a skill it asks for`,
  travel: (n) => `${n} too far away`,
  excluded: (n) => `${n} not active or excluded`,
  'excluded-place': (n) => `${n} may not serve at this place`,
  language: (n) => `${n} without a language it asks for`,
  experience: (n) => `${n} without the experience it asks for`,
  residence: (n) => `${n} living elsewhere`,
}

const peopleOf = (n: number) => (n === 1 ? '1 person' : `${n} people`)

/** What several seats that lack people have in common; how many may sit in each differs. Null for other reasons. */
function sharedReasonOf({ reason, half, people, eligible }: SeatExplanation): string | null {
  if (reason !== 'too-few-people') return null
  if (half !== 'full' && people.length === 0)
    return `Nobody may sit there in the ${half}; some people could take the other half of the day.`
  if (eligible === 0) return null
  const when = half === 'full' ? '' : `in the ${half} `
  return `Those who may sit there are all needed elsewhere: ${when}these seats and others have only ${peopleOf(people.length)} between them.`
}

/** One or two plain sentences for an empty seat. */
function reasonOf(explanation: SeatExplanation, seat: RosterSeat, position: string): string {
  switch (explanation.reason) {
    case 'nobody-certified':
      return `Nobody in the county holds the certificate for ${position} on ${dateInWords(seat.date as CivilDate, 'en')}.`
    case 'nobody-eligible': {
      const holders = Object.entries(explanation.refused).filter(([why]) => why !== 'certificate')
      const n = holders.reduce((sum, [, m]) => sum + m, 0)
      const why = holders.flatMap(([key, m]) => REFUSED_WORDS[key as Ineligibility]?.(m) ?? [])
      return `${n === 1 ? '1 certified person is' : `${n} certified people are`} on the list, but nobody may sit here: ${why.join(', ')}.`
    }
    case 'too-few-people': {
      const { half } = explanation
      if (half !== 'full' && explanation.people.length === 0)
        return `Nobody may sit here in the ${half}; ${peopleOf(explanation.eligible)} could take the other half of the day.`
      return `${peopleOf(explanation.eligible)} may sit here${half === 'full' ? '' : ' for the whole day or half of it'}, but all are needed elsewhere: ${half === 'full' ? '' : `in the ${half} `}${explanation.seats.length} seats, this one among them, have only ${peopleOf(explanation.people.length)} between them.`
    }
    case 'locks':
      return 'Somebody could sit here only if a locked seat is unlocked.'
    case 'hard-balance':
      return 'The party balance that the county requires keeps this seat empty.'
    case 'could-be-filled':
      return 'Somebody could still be moved here: run “Fill the seats” again.'
    case 'not-proven':
      return 'No way to fill this seat was found, neither with one person for the whole day nor with two for half a day each.'
    case 'filled':
      return 'Filled.'
  }
}
