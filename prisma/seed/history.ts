import type { EvidenceRule, Policy, Requirement } from '@/lib/certification/schema'
import type { CivilDate } from '@/lib/kernel/dates'
import type { Random } from '@/lib/kernel/random'
import {
  type Calendar,
  clampDay,
  type DayRange,
  drawDay,
  historyOf,
  notSunday,
  overlap,
  type Season,
  seasonOf,
} from './calendar'
import { daysFrom, plusDays } from './day-numbers'
import type { Standing } from './plan'

/** A deed before it belongs to anybody. */
export interface Deed {
  kind: EvidenceRule['fact']
  topic: string
  on: CivilDate
  scoreFraction: number | null
  equipmentProfile: string | null
  /** It counts for good and need not be done again. */
  lasting: boolean
}

/** The deeds that a rule asks for. Of alternatives, one that can be trained for is taken. */
export function leavesToMeet(requirement: Requirement): EvidenceRule[] {
  switch (requirement.kind) {
    case 'evidence':
      return [requirement]
    case 'all':
      return requirement.of.flatMap(leavesToMeet)
    case 'any':
    case 'atLeast': {
      const trainable = requirement.of.map(leavesToMeet).sort((a, b) => serviceIn(a) - serviceIn(b))
      return trainable.slice(0, requirement.kind === 'any' ? 1 : requirement.count).flat()
    }
  }
}

const serviceIn = (leaves: readonly EvidenceRule[]) => leaves.filter(({ fact }) => fact === 'served').length

/** Lesson first, then the quiz, then the day with the trainer. */
const LEAD_DAYS: Partial<Record<EvidenceRule['fact'], number>> = { lessonFinished: 9, quizPassed: 4 }

const SEASON: Record<Standing, Season> = {
  current: 'fresh',
  expiring: 'fading',
  lapsed: 'stale',
  halfWay: 'fresh',
  begun: 'fresh',
  never: 'fresh',
}
/** Where a season has no days so near to an election, the next that tells a similar story. */
const INSTEAD: Record<Season, readonly Season[]> = {
  fresh: ['fresh', 'fading', 'stale'],
  fading: ['fading', 'stale', 'fresh'],
  stale: ['stale', 'fading', 'fresh'],
  former: ['former'],
}

/** Tells histories in one county: prepares the seasons of each policy once. */
export function historian(calendar: Calendar, equipmentProfiles: readonly string[]) {
  const prepared = new Map<string, { leaves: EvidenceRule[]; seasons: Map<Season, DayRange[]> }>()
  const history = historyOf(calendar)

  function prepare(policy: Policy) {
    const known = prepared.get(policy.certificateKey)
    if (known) return known
    const leaves = leavesToMeet(policy.ruleSets.at(-1)!.requirement)
    const seasons = new Map<Season, DayRange[]>()
    for (const season of ['fresh', 'fading', 'stale', 'former'] as const) {
      const ranges = leaves.map((leaf) => seasonOf(leaf, season, calendar))
      if (overlap(ranges) !== null) seasons.set(season, ranges as DayRange[])
    }
    const made = { leaves, seasons }
    prepared.set(policy.certificateKey, made)
    return made
  }

  /** One round of training for a policy: a deed for each leaf, close together. */
  function round(random: Random, policy: Policy, season: Season): Deed[] {
    const { leaves, seasons } = prepare(policy)
    const found = INSTEAD[season].find((s) => seasons.has(s))
    if (found === undefined) return []
    const ranges = seasons.get(found)!
    const trainerDay = drawDay(random, overlap(ranges)!)
    const before = random.next()
    const [usual = null, ...others] = equipmentProfiles
    const profile = others.length === 0 || random.next() < 0.6 ? usual : random.pick(others)
    return leaves.map((leaf, i) => {
      const range = leaf.window.kind === 'always' ? history : ranges[i]!
      const days = Math.round(before * (LEAD_DAYS[leaf.fact] ?? 0))
      const on = clampDay(plusDays(trainerDay, -days), range)
      const withTrainer = leaf.fact === 'checkOff' || leaf.fact === 'classAttended'
      const least = leaf.minScoreFraction ?? 0.75
      return {
        kind: leaf.fact,
        topic: leaf.topic,
        on: withTrainer ? notSunday(on, range) : on,
        scoreFraction:
          leaf.fact === 'quizPassed' ? Math.round((least + random.next() * (1 - least)) * 100) / 100 : null,
        equipmentProfile: leaf.fact === 'checkOff' ? profile : null,
        lasting: leaf.window.kind === 'always',
      }
    })
  }

  /** What a person of this standing has done, earliest first. Only days before the date of the seed. */
  return function deedsOf(random: Random, policy: Policy, standing: Standing): Deed[] {
    if (standing === 'never') return []
    const main = round(random, policy, SEASON[standing]).filter(
      (deed) =>
        (standing !== 'halfWay' || deed.kind === 'lessonFinished' || deed.kind === 'quizPassed') &&
        (standing !== 'begun' || deed.kind === 'lessonFinished'),
    )
    // Somebody who is certified now was often so at the election before.
    const returning = (standing === 'current' || standing === 'expiring') && random.next() < 0.65
    const former = returning ? round(random, policy, 'former') : []
    const lastFormer = former.reduce<string>((last, { on }) => (on > last ? on : last), '')
    const firstMain = main.reduce<string>((first, { on }) => (on < first ? on : first), '9999')
    const apart = former.length > 0 && daysFrom(lastFormer as CivilDate, firstMain as CivilDate) >= 5
    const kept = apart ? [...former, ...main.filter(({ lasting }) => !lasting)] : main
    return kept.sort((a, b) => (a.on < b.on ? -1 : a.on > b.on ? 1 : 0))
  }
}
