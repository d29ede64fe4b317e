import { isCivilDate } from '@/lib/kernel/dates'
import type { EvidenceRule, Requirement, Window } from '../schema'

/** A rule as a form of lines: one piece of evidence a line, each joined to the one before on its level by 'and' or 'or'.
 *  Lines joined by 'or' are one group, of which `need` are enough; all groups are needed. A line may also be a bracket
 *  (`BRACKET`): the lines of the next level below it, read in the same way. Text, as a form has it. */
export interface RuleLine {
  /** 0: outside every bracket. At most one more than the bracket that a line is in (rule-outline.ts). */
  level: number
  /** `quizPassed:polls-basics`: kind of fact and topic; a topic of `*` is a new one, named by the label. Or `BRACKET`. */
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

/** What a line is that holds others. */
export const BRACKET = 'bracket'

export const NEW_LINE: RuleLine = {
  level: 0,
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

export const earlierTrainingLabel = (name: { nameEn: string; nameEs: string }) => ({
  en: `Was trained before the county kept its records here: ${name.nameEn}`,
  es: `Se capacitó antes de que el condado llevara aquí sus registros: ${name.nameEs}`,
})

/** Lets training before the county kept its records here stand for a whole rule, for so many months. */
export const withEarlierTraining = (
  requirement: Requirement,
  certificateKey: string,
  months: number,
  name: { nameEn: string; nameEs: string },
): Requirement => ({
  kind: 'any',
  of: [
    requirement,
    {
      kind: 'evidence',
      fact: 'earlierTraining',
      topic: certificateKey,
      window: { kind: 'months', months },
      label: earlierTrainingLabel(name),
    },
  ],
})

/** The lines of a rule. The inverse of `requirementOf`, up to brackets that say nothing. */
export const linesOf = (requirement: Requirement, level = 0): RuleLine[] =>
  groupsOf(requirement).flatMap(({ need, items }) =>
    items.flatMap((item, i) => {
      const place = { level, join: i === 0 ? ('and' as const) : ('or' as const), need: String(need) }
      return item.kind === 'evidence'
        ? [{ ...lineOf(item), ...place }]
        : [{ ...NEW_LINE, what: BRACKET, ...place }, ...linesOf(item, level + 1)]
    }),
  )

/** Things that stand for each other: `need` of them are enough. */
interface Group {
  need: number
  items: Requirement[]
}

function groupsOf(requirement: Requirement): Group[] {
  if (requirement.kind === 'evidence') return [{ need: 1, items: [requirement] }]
  if (requirement.kind === 'all') return requirement.of.flatMap(groupsOf)
  const need = requirement.kind === 'any' ? 1 : requirement.count
  return need === requirement.of.length ? requirement.of.flatMap(groupsOf) : [{ need, items: requirement.of }]
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
  const byKey = new Map(choices.map((choice) => [choiceKey(choice), choice]))
  /** The lines from one on, as long as they are on a level or further in. */
  const read = (from: number, level: number): { requirement: Requirement | null; end: number } => {
    const groups: (Group & { first: number })[] = []
    let i = from
    while (i < lines.length && lines[i]!.level >= level) {
      const at = i++
      const line = lines[at]!
      const say = (field: keyof RuleLine, message: string) => {
        problems.push({ line: at, field, message })
      }
      let item: Requirement | null = null
      if (line.what === BRACKET) {
        const inside = read(i, level + 1)
        i = inside.end
        item = inside.requirement
        if (!item) say('what', 'Add a line inside, or take this line out.')
      } else item = leafOf(line, byKey, say)
      const last = groups.at(-1)
      const items = item ? [item] : []
      if (line.join === 'or' && last) last.items.push(...items)
      else groups.push({ need: wholeNumber(line.need) ?? 1, items, first: at })
    }
    for (const { need, items, first } of groups)
      if (need < 1 || need > Math.max(1, items.length))
        problems.push({
          line: first,
          field: 'need',
          message: `Between 1 and ${items.length}: so many lines are joined by “or”.`,
        })
    const parts = groups.flatMap(({ need, items }): Requirement[] => {
      if (items.length <= need) return items
      return [need === 1 ? { kind: 'any', of: items } : { kind: 'atLeast', count: need, of: items }]
    })
    // All of all is all.
    const flat = parts.flatMap((part) => (part.kind === 'all' ? part.of : [part]))
    return { requirement: flat.length > 1 ? { kind: 'all', of: flat } : (flat[0] ?? null), end: i }
  }
  const { requirement } = read(0, 0)
  if (lines.length === 0) problems.push({ line: 0, field: 'what', message: 'Add at least one line.' })
  problems.sort((a, b) => a.line - b.line)
  return problems.length > 0 || !requirement ? { ok: false, problems } : { ok: true, requirement }
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
  else if (asksScore)
    for (const [field, words] of [
      ['labelEn', label.en],
      ['labelEs', label.es],
    ] as const) {
      const said = /(\d+(?:[.,]\d+)?) ?%/.exec(words)?.[1]
      if (said && Number(said.replace(',', '.')) !== percent)
        say(
          field,
          `These words say ${said} %, and the rule asks for ${line.score.trim()} %. Make them agree.`,
        )
    }
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
