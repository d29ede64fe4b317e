import type { EquipmentProfile, Scenario } from '../../schema'
import type { LessonGraph } from '../explore'
import type { ScoreRange } from '../range'

/** One thing to mend. `path` points into the lesson's file. */
export interface Finding {
  rule: string
  level: 'error' | 'warning'
  path: string
  found: string
  expected: string
  tip: string
}

export interface CheckOptions {
  /** Equipment on which the lesson is tried; those that it doesn't fit are left out. */
  profiles: readonly EquipmentProfile[]
  /** The county's limit of the reading grade in English. */
  gradeLimit?: number
  /** Also ask for what a shipped lesson must be (five judged steps, branches that play out, hands needed). */
  shipped?: boolean
}

/** The lesson explored on one profile. */
export interface Explored {
  profile: EquipmentProfile
  graph: LessonGraph
  range: ScoreRange | null
  sound: boolean
}

export interface Checked {
  scenario: Scenario
  options: Required<CheckOptions>
  /** Empty where the structure is broken, so that it can't be played. */
  explored: readonly Explored[]
}

/** A rule of the checker. Rules are pure and independent; each finding names its rule. */
export interface Rule {
  name: string
  description: string
  check(checked: Checked): Finding[]
}

export const finding = (
  rule: string,
  level: Finding['level'],
  path: string,
  found: string,
  expected: string,
  tip: string,
): Finding => ({ rule, level, path, found, expected, tip })
