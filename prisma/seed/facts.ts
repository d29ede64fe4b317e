import { spansOf } from '@/lib/certification/core/spans-of'
import type { Fact, Policy } from '@/lib/certification/schema'
import type { CivilDate } from '@/lib/kernel/dates'
import type { Random } from '@/lib/kernel/random'
import { holdsOn } from '@/lib/kernel/spans'
import { type Calendar, historyOf } from './calendar'
import { daysFrom, plusDays } from './day-numbers'
import { historian } from './history'
import type { IdKind } from './ids'
import type { StandingPlan } from './plan'
import type { FactRow, PollWorkerRow } from './rows'

export interface FactsWanted {
  countyId: string
  pollWorkers: PollWorkerRow[]
  plans: readonly StandingPlan[]
  policies: readonly Policy[]
  equipmentProfiles: readonly string[]
  calendar: Calendar
  previousElectionId: string
  recorderId: string | null
}

/** Of those who were certified at the election before, this share served. */
const SERVED_SHARE = 0.85
/** One check-off in so many was entered for the wrong person and is revoked. */
const REVOKED_EVERY = 150

/** Facts as `lib/certification` reads them. */
export const certificationFacts = (rows: readonly FactRow[]): Fact[] =>
  rows.map((row) => ({
    id: row.id,
    kind: row.kind as Fact['kind'],
    topic: row.topic,
    on: row.happenedOn as CivilDate,
    scoreFraction: row.scoreFraction,
    equipmentProfile: row.equipmentProfile,
    electionId: row.electionId,
    revokes: row.revokesFactId,
  }))

/** Every person's history, all of it before the date of the seed; also sets `electionsServed` by it. */
export function tellFacts(random: Random, nextId: (kind: IdKind) => string, wanted: FactsWanted): FactRow[] {
  const { calendar, previousElectionId } = wanted
  const { previousElectionOn, today } = calendar
  const deedsOf = historian(calendar, wanted.equipmentProfiles)
  const policyOf = new Map(wanted.policies.map((policy) => [policy.certificateKey, policy]))
  const elections = [{ id: previousElectionId, heldOn: previousElectionOn }]
  const history = historyOf(calendar)
  const year = Number(today.slice(0, 4))
  const facts: FactRow[] = []
  let checkOffs = 0

  wanted.pollWorkers.forEach((person, i) => {
    const { track, standing } = wanted.plans[i]!
    const policy = policyOf.get(track)
    if (!policy) return
    const add = (kind: FactRow['kind'], topic: string, on: CivilDate, more: Partial<FactRow> = {}) => {
      const fact: FactRow = {
        id: nextId('fact'),
        countyId: wanted.countyId,
        pollWorkerId: person.id,
        kind,
        topic,
        happenedOn: on,
        scoreFraction: null,
        equipmentProfile: null,
        electionId: null,
        revokesFactId: null,
        recordedBy: null,
        recordedAt: new Date(`${on}T18:00:00Z`),
        onceKey: null,
        ...more,
      }
      facts.push(fact)
      return fact
    }
    const own = deedsOf(random, policy, standing).map(
      ({ kind, topic, on, scoreFraction, equipmentProfile }) =>
        add(kind, topic, on, {
          scoreFraction,
          equipmentProfile,
          recordedBy: kind === 'checkOff' || kind === 'classAttended' ? wanted.recorderId : null,
        }),
    )
    const wasCertified = holdsOn(
      spansOf(policy, certificationFacts(own), elections),
      previousElectionOn as CivilDate,
    )
    const served = wasCertified && random.next() < SERVED_SHARE
    if (served) {
      const swornOn = plusDays(previousElectionOn, -2 - random.below(14))
      add('oathSworn', 'oath', swornOn, { electionId: previousElectionId, recordedBy: wanted.recorderId })
      add('served', track, previousElectionOn, {
        electionId: previousElectionId,
        recordedBy: wanted.recorderId,
      })
    }
    const adultElections = Math.floor((year - (person.birthYear ?? year) - 18) / 2)
    // Of the others some served longer ago than this history reaches.
    const servedLongAgo = !served && random.next() < (standing === 'never' ? 0.25 : 0.5)
    if (served || (servedLongAgo && adultElections > 2 && !wanted.plans[i]!.fixed))
      person.electionsServed = 1 + random.below(Math.max(1, Math.min(12, adultElections)))

    const checkOff = own.findLast(({ kind }) => kind === 'checkOff')
    if (
      checkOff &&
      standing === 'expiring' &&
      !wanted.plans[i]!.fixed &&
      ++checkOffs % REVOKED_EVERY === 20
    ) {
      const room = daysFrom(checkOff.happenedOn as CivilDate, history.last)
      add(
        'revocation',
        'entered for the wrong person',
        plusDays(checkOff.happenedOn as CivilDate, Math.min(room, 3)),
        {
          revokesFactId: checkOff.id,
          recordedBy: wanted.recorderId,
        },
      )
    }
  })
  return facts
}
