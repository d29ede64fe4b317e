import type { CivilDate } from '@/lib/kernel/dates'
import type { TodoItem } from './todo'

/** One line of what is left: a thing, or a choice of several. */
export interface TodoLine {
  en: string
  es: string
  /** Done on this day or later it counts, whichever option is chosen; null: however early. */
  doFrom: CivilDate | null
}

const PAST = new Set<string>(['served', 'earlierTraining'])

/** Can somebody who starts today still do it in time? A lesson, quiz, check-off, class or oath: yes where a day is left;
 *  service at an earlier election and training on other records: no. */
export const canStillDo = (item: TodoItem): boolean => item.possible && !PAST.has(item.rule.fact)

const labelOf = (item: TodoItem) =>
  item.rule.label ?? {
    en: `${item.rule.fact} ${item.rule.topic}`,
    es: `${item.rule.fact} ${item.rule.topic}`,
  }

/** What is left to do as lines: what is needed in any case, then each choice as one line of alternatives, without those
 *  that nobody can do any more. */
export function todoLines(items: readonly TodoItem[]): TodoLine[] {
  const needed = items
    .filter((item) => item.choices.length === 0)
    .map((item) => ({ ...labelOf(item), doFrom: item.doFrom }))
  const groups = new Map<string, TodoItem[]>()
  for (const item of items) {
    const choice = item.choices[0]
    if (!choice || !canStillDo(item)) continue
    groups.set(choice.group, [...(groups.get(choice.group) ?? []), item])
  }
  const choices = [...groups.values()].map((options) => ({
    en: options.map((o) => labelOf(o).en).join(', or: '),
    es: options.map((o) => labelOf(o).es).join('; o bien: '),
    doFrom: options.map((o) => o.doFrom).reduce((a, b) => (a && b ? (a > b ? a : b) : (a ?? b))),
  }))
  return [...needed, ...choices]
}
