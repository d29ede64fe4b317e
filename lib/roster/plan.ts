import { type TodoItem, todo } from '@/lib/certification/core/todo'
import { canStillDo, todoLines } from '@/lib/certification/core/todo-lines'
import type { ElectionDate, Fact, Policy } from '@/lib/certification/schema'
import type { CivilDate } from '@/lib/kernel/dates'
import type { Ineligibility } from './core/eligibility'
import { explainEmptySeats, type SeatExplanation } from './core/explain'
import { prepareRoster } from './core/prepared'
import { type TrainingEntry, trainingPlan } from './core/training'
import type { TrainingStep } from './outcome'
import type { RosterInstance, Seating } from './schema'

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
  empty: { seatId: string; reason: string }[]
  training: TrainingStep[]
  /** Seats filled when solved again with the training. */
  filledWithTraining: number
  notes: string[]
}

/** First the people who want the position that lacks people, then, for what is still short, everybody who could be
 *  certified in time. Each round takes the fewest trainings, nearest people first, and is checked by solving again. */
export function explainAndPlan(input: PlanInput, onProgress: (share: number) => void = () => {}): PlanFound {
  const { instance, seatings } = input
  const explanations = explainEmptySeats(prepareRoster(instance, { seatings }))
  const empty = explanations.map((e) => ({ seatId: e.seatId, reason: reasonOf(e, input) }))
  onProgress(0.3)
  const filled = instance.seats.length - explanations.length
  if (explanations.length === 0) return { empty, training: [], filledWithTraining: filled, notes: [] }

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
  const wanted = [
    ...new Set(
      explanations.flatMap((e) => {
        const seat = instance.seats.find((s) => s.id === e.seatId)
        return seat?.certificate ? [seat.certificate] : []
      }),
    ),
  ]
  const dates = instance.seats.map((s) => s.date).sort()
  const options = { certificates: wanted, achievedBy: input.today < dates[0]! ? input.today : dates[0]! }
  const asked = trainingPlan(
    instance,
    { seatings },
    {
      ...options,
      canTrain: (person, certificate) =>
        wish.get(person.id) === certificate && missingFor(person.id, certificate) !== null,
    },
  )
  onProgress(0.65)
  const sum = (xs: number[]) => xs.reduce((a, b) => a + b, 0)
  let entries = asked.entries
  let after = sum(asked.after)
  let beyond = asked.beyondTraining.length
  if (after < instance.seats.length && wanted.length > 0) {
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
  }
  onProgress(1)
  return {
    empty,
    filledWithTraining: after,
    training: entries.map((entry) => ({
      personId: entry.personId,
      certificateKey: entry.certificate,
      takesSeatId: entry.seatId,
      seatIds: entry.fills.map((f) => f.seatId),
      missing: todoLines(missingFor(entry.personId, entry.certificate) ?? []),
    })),
    notes:
      beyond > 0
        ? [
            `${beyond} ${beyond === 1 ? 'seat' : 'seats'} would stay empty even with training: more people are needed, or people who are nearer or free on that day.`,
          ]
        : [],
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

/** One or two plain sentences for an empty seat. */
export function reasonOf(
  explanation: SeatExplanation,
  input: Pick<PlanInput, 'instance' | 'positions'>,
): string {
  const seat = input.instance.seats.find((s) => s.id === explanation.seatId)!
  const position = input.positions.find((p) => p.key === seat.position)?.name ?? seat.position
  const people = (n: number) => (n === 1 ? '1 person' : `${n} people`)
  switch (explanation.reason) {
    case 'nobody-certified':
      return `Nobody in the county holds the certificate for ${position} on ${seat.date}.`
    case 'nobody-eligible': {
      const holders = Object.entries(explanation.refused).filter(([why]) => why !== 'certificate')
      const n = holders.reduce((sum, [, m]) => sum + m, 0)
      const why = holders.flatMap(([key, m]) => REFUSED_WORDS[key as Ineligibility]?.(m) ?? [])
      return `${n === 1 ? '1 certified person is' : `${n} certified people are`} on the list, but nobody may sit here: ${why.join(', ')}.`
    }
    case 'too-few-people': {
      const { half } = explanation
      if (half !== 'full' && explanation.people.length === 0)
        return `Nobody may sit here in the ${half}; ${people(explanation.eligible)} could take the other half of the day.`
      return `${people(explanation.eligible)} may sit here${half === 'full' ? '' : ' for the whole day or half of it'}, but all are needed elsewhere: ${half === 'full' ? '' : `in the ${half} `}${explanation.seats.length} seats, this one among them, have only ${people(explanation.people.length)} between them.`
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
