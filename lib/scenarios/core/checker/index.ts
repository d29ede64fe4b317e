/** The checker of lessons: runs in the editor, in tests, from the command line and before publishing. Pure. */
import type { EquipmentProfile, Scenario } from '../../schema'
import { DEFAULT_LIMITS, type ExploreLimits, exploreLesson } from '../explore'
import { profileFits } from '../fit'
import { scoreRange, soundPath } from '../range'
import type { Checked, CheckOptions, Explored, Finding, Rule } from './finding'
import { playedRules } from './played'
import { judgementsRule, reachRule } from './sense'
import { conditionsRule, namesRule, stationsRule } from './structure'
import { textRules } from './texts'

export type { CheckOptions, Finding } from './finding'

const NAMES_FIRST: readonly Rule[] = [namesRule]
const STRUCTURE: readonly Rule[] = [conditionsRule, stationsRule, judgementsRule, reachRule]

/** Every rule with its description, in the order in which they run. */
export const RULES: readonly Rule[] = [...NAMES_FIRST, ...STRUCTURE, ...textRules, ...playedRules]

export const DEFAULT_GRADE_LIMIT = 8

export interface CheckResult {
  findings: Finding[]
  /** Attainable score range by profile, 0 to 1. */
  ranges: Record<string, { least: number; most: number }>
}

/** Checks a lesson. Names are checked first: where they lead nowhere, the lesson isn't explored.
 *  Cost: dominated by exploring, at most `limits.transitions` transitions for each profile. */
export function checkScenario(
  scenario: Scenario,
  options: CheckOptions,
  limits: ExploreLimits = DEFAULT_LIMITS,
): CheckResult {
  const full = {
    profiles: options.profiles,
    gradeLimit: options.gradeLimit ?? DEFAULT_GRADE_LIMIT,
    shipped: options.shipped ?? false,
  }
  const run = (rules: readonly Rule[], checked: Checked) => rules.flatMap((rule) => rule.check(checked))
  const unexplored: Checked = { scenario, options: full, explored: [] }
  const findings = run(NAMES_FIRST, unexplored)
  if (findings.length === 0) findings.push(...run(STRUCTURE, unexplored))
  findings.push(...run(textRules, unexplored))
  const structureHolds = !findings.some((f) => f.level === 'error' && STRUCTURE_NAMES.has(f.rule))
  const explored = structureHolds
    ? options.profiles.filter((p) => profileFits(scenario.needs, p)).map((p) => explore(scenario, p, limits))
    : []
  if (structureHolds) findings.push(...run(playedRules, { scenario, options: full, explored }))
  const ranges = Object.fromEntries(
    explored.flatMap(({ profile, range }) =>
      range ? [[profile.id, { least: range.least, most: range.most }]] : [],
    ),
  )
  return { findings, ranges }
}

const STRUCTURE_NAMES = new Set([...NAMES_FIRST, ...STRUCTURE].map((r) => r.name))

function explore(scenario: Scenario, profile: EquipmentProfile, limits: ExploreLimits): Explored {
  const graph = exploreLesson(scenario, profile, limits)
  return { profile, graph, range: scoreRange(graph), sound: soundPath(graph) !== null }
}
