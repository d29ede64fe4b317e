import { isCivilDate } from '@/lib/kernel/dates'
import type { EvidenceRule, Requirement, Window } from '../schema'

/** A rule as a form of lines: one piece of evidence a line, each joined to the one before by 'and' or 'or'. Lines joined
 *  by 'or' are one group, of which `need` are enough; all groups are needed. Everything is text, as a form has it. */
export interface RuleLine {
  /** `quizPassed:polls-basics`: kind of fact and topic; a topic of `*` is a new one, named by the label. */
  what: string
  join: 'and' | 'or'
  /** How many of a group are enough; on the group's first line. */
  need: string
  window: Window['kind']
  /** Months, days, or the length of a cycle in months. */
  number: string
  /** An end, or the first day of a cycle. */
  date: string
  /** Months after the end of a cycle. */
  plus: string
  /** '' on anything, `inUse`, or a profile's key. */
  equipment: string
  /** Percent; '' for the quiz's own cut. */
  score: string
  labelEn: string
  labelEs: string
}

export const NEW_LINE: RuleLine = {
  what: '',
  join: 'and',
  need: '1',
  window: 'months',
  number: '24',
  date: '',
  plus: '',
  equipment: '',
  score: '',
  labelEn: '',
  labelEs: '',
}

export const WINDOW_KINDS = [
  'always',
  'months',
  'fixedDate',
  'untilEndOfNextCycle',
  'afterCycle',
  'daysBeforeElection',
  'monthsBeforeElection',
  'sameElection',
] as const satisfies readonly Window['kind'][]

/** What a rule can ask for, with the words that a poll worker reads. */
export interface EvidenceChoice {
  fact: EvidenceRule['fact']
  topic: string
  label: { en: string; es: string }
}

export const choiceKey = (choice: { fact: string; topic: string }): string => `${choice.fact}:${choice.topic}`

/** The lines of a rule, or null where it has more levels than lines can say. */
export function linesOf(requirement: Requirement): RuleLine[] | null {
  const groups = groupsOf(requirement)
  if (groups === null) return null
  return groups.flatMap(({ need, leaves }) =>
    leaves.map((leaf, i) => ({
      ...lineOf(leaf),
      join: i === 0 ? ('and' as const) : ('or' as const),
      need: String(need),
    })),
  )
}

interface Group {
  need: number
  leaves: EvidenceRule[]
}

function groupsOf(requirement: Requirement): Group[] | null {
  if (requirement.kind === 'evidence') return [{ need: 1, leaves: [requirement] }]
  if (requirement.kind === 'all') {
    const parts = requirement.of.map(groupsOf)
    return parts.some((part) => part === null) ? null : parts.flatMap((part) => part!)
  }
  const leaves = requirement.of.filter((part) => part.kind === 'evidence')
  if (leaves.length < requirement.of.length) return null
  const need = requirement.kind === 'any' ? 1 : requirement.count
  return need === leaves.length ? leaves.map((leaf) => ({ need: 1, leaves: [leaf] })) : [{ need, leaves }]
}

function lineOf(rule: EvidenceRule): RuleLine {
  const w = rule.window
  return {
    ...NEW_LINE,
    what: choiceKey(rule),
    window: w.kind,
    number:
      w.kind === 'months' || w.kind === 'monthsBeforeElection'
        ? String(w.months)
        : w.kind === 'daysBeforeElection'
          ? String(w.days)
          : w.kind === 'untilEndOfNextCycle' || w.kind === 'afterCycle'
            ? String(w.cycleMonths)
            : '',
    date:
      w.kind === 'fixedDate'
        ? w.until
        : w.kind === 'untilEndOfNextCycle' || w.kind === 'afterCycle'
          ? w.cycleStartsOn
          : '',
    plus: w.kind === 'afterCycle' ? String(w.plusMonths) : '',
    equipment: !rule.equipment ? '' : rule.equipment.kind === 'inUse' ? 'inUse' : rule.equipment.profile,
    score: rule.minScoreFraction === undefined ? '' : String(Math.round(rule.minScoreFraction * 1000) / 10),
    labelEn: rule.label?.en ?? '',
    labelEs: rule.label?.es ?? '',
  }
}

/** What is wrong with the lines: line number from 0, the field, and how to put it right. */
export interface RuleProblem {
  line: number
  field: keyof RuleLine
  message: string
}

export type RuleReading = { ok: true; requirement: Requirement } | { ok: false; problems: RuleProblem[] }

/** Reads the lines as a requirement. The inverse of `linesOf`, up to labels that the choices supply. */
export function requirementOf(lines: readonly RuleLine[], choices: readonly EvidenceChoice[]): RuleReading {
  const problems: RuleProblem[] = []
  if (lines.length === 0)
    return { ok: false, problems: [{ line: 0, field: 'what', message: 'Add at least one line.' }] }
  const byKey = new Map(choices.map((choice) => [choiceKey(choice), choice]))
  const say = (line: number) => (field: keyof RuleLine, message: string) => {
    problems.push({ line, field, message })
  }
  const groups: Group[] = []
  lines.forEach((line, i) => {
    const leaf = leafOf(line, byKey, say(i))
    const last = groups.at(-1)
    if (line.join === 'or' && last) last.leaves.push(leaf)
    else groups.push({ need: wholeNumber(line.need) ?? 1, leaves: [leaf] })
  })
  let first = 0
  for (const group of groups) {
    if (group.need < 1 || group.need > group.leaves.length)
      say(first)('need', `Between 1 and ${group.leaves.length}: so many lines are joined by “or”.`)
    first += group.leaves.length
  }
  if (problems.length > 0) return { ok: false, problems }
  const parts = groups.flatMap((group): Requirement[] => {
    if (group.leaves.length === group.need) return group.leaves
    return [
      group.need === 1
        ? { kind: 'any', of: group.leaves }
        : { kind: 'atLeast', count: group.need, of: group.leaves },
    ]
  })
  return { ok: true, requirement: parts.length === 1 ? parts[0]! : { kind: 'all', of: parts } }
}

const wholeNumber = (text: string): number | null => (/^\d{1,5}$/.test(text.trim()) ? Number(text) : null)
const keyFrom = (label: string): string =>
  label
    .normalize('NFD')
    .replace(/[\u0300-\u036f]/g, '')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-|-$/g, '')
    .slice(0, 60)

function leafOf(
  line: RuleLine,
  choices: ReadonlyMap<string, EvidenceChoice>,
  say: (field: keyof RuleLine, message: string) => void,
): EvidenceRule {
  const [fact, topic] = [
    line.what.slice(0, line.what.indexOf(':')),
    line.what.slice(line.what.indexOf(':') + 1),
  ]
  const known = choices.get(line.what)
  const isNew = topic === '*' && (fact === 'checkOff' || fact === 'classAttended')
  if (!known && !isNew) say('what', 'Choose what is asked for.')
  const label = {
    en: line.labelEn.trim() || (known?.label.en ?? ''),
    es: line.labelEs.trim() || (known?.label.es ?? ''),
  }
  if (isNew && !label.en) say('labelEn', 'Write what a poll worker reads, in English.')
  if (isNew && !label.es) say('labelEs', 'Write what a poll worker reads, in Spanish.')
  const percent = Number(line.score.replace(',', '.'))
  const asksScore = fact === 'quizPassed' && line.score.trim() !== ''
  if (asksScore && !(percent > 0 && percent <= 100))
    say('score', 'Write a percentage from 1 to 100, or nothing.')
  return {
    kind: 'evidence',
    fact: fact as EvidenceRule['fact'],
    topic: isNew ? keyFrom(label.en) || 'new' : topic,
    window: windowOf(line, say),
    ...(asksScore ? { minScoreFraction: percent / 100 } : {}),
    ...(fact === 'checkOff' && line.equipment
      ? {
          equipment:
            line.equipment === 'inUse'
              ? { kind: 'inUse' as const }
              : { kind: 'profile' as const, profile: line.equipment },
        }
      : {}),
    label,
  }
}

function windowOf(line: RuleLine, say: (field: keyof RuleLine, message: string) => void): Window {
  const number = (least: number, most: number, what: string): number => {
    const n = wholeNumber(line.number)
    if (n === null || n < least || n > most) say('number', `Write ${what}, from ${least} to ${most}.`)
    return n ?? least
  }
  const date = (what: string) => {
    if (!isCivilDate(line.date)) say('date', `Choose ${what}.`)
    return line.date as never
  }
  switch (line.window) {
    case 'always':
    case 'sameElection':
      return { kind: line.window }
    case 'months':
    case 'monthsBeforeElection':
      return { kind: line.window, months: number(1, 1200, 'the number of months') }
    case 'daysBeforeElection':
      return { kind: line.window, days: number(0, 3660, 'the number of days') }
    case 'fixedDate':
      return { kind: line.window, until: date('the first day on which it no longer counts') }
    case 'untilEndOfNextCycle':
      return {
        kind: line.window,
        cycleMonths: number(1, 1200, 'the length of a cycle in months'),
        cycleStartsOn: date('the first day of a cycle'),
      }
    case 'afterCycle': {
      const plus = wholeNumber(line.plus)
      if (plus === null || plus > 1200) say('plus', 'Write the months after the cycle, from 0 to 1200.')
      return {
        kind: line.window,
        cycleMonths: number(1, 1200, 'the length of a cycle in months'),
        cycleStartsOn: date('the first day of a cycle'),
        plusMonths: plus ?? 0,
      }
    }
  }
}
