import { addDays, type CivilDate, laterOf } from '@/lib/kernel/dates'
import { holdsOn } from '@/lib/kernel/spans'
import type { ElectionDate, EvidenceRule, Fact, Policy } from '../schema'
import { evidenceFor, openBook, withdrawalsOf } from './evidence'
import { ruleSetOn } from './spans-of'
import { choosable, type Explanation, explain, type LeafReason } from './status'
import { evidenceDatesFor } from './window'

/** A place in the rule where fewer than all parts are needed. */
export interface Choice {
  /** Position in the tree, such as `1.0`; the same text is the same choice. */
  group: string
  /** How many more options of this group are needed. */
  stillNeeded: number
  /** Which option this item belongs to. */
  option: number
}

/** One thing that is missing on the date asked about. */
export interface TodoItem {
  /** Position of the leaf in the rule's tree. */
  path: string
  rule: EvidenceRule
  reason: Exclude<LeafReason, 'held'>
  /** The fact that no longer or not yet counts, where there is one. */
  fact: Fact | null
  /** When it ended, where it once counted. */
  until: CivilDate | null
  /** Done on this day or later it still counts on the date asked about; null: however early. */
  doFrom: CivilDate | null
  /** Last day on which doing it helps for the date asked about. */
  doBy: CivilDate
  /** False where no evidence date could count on that date. */
  possible: boolean
  /** Empty: needed in any case. Otherwise the choices that it is a part of, outermost first. */
  choices: Choice[]
}

/** What a person still has to do to hold the certificate on a date (today, or an election day): the leaves that
 *  don't hold, in the rule's own order, leaving out branches that hold already. Empty when it holds, or when no
 *  rule version is in effect. O(leaves × facts × elections). */
export function todo(
  policy: Policy,
  facts: readonly Fact[],
  elections: readonly ElectionDate[],
  date: CivilDate,
): TodoItem[] {
  const ruleSet = ruleSetOn(policy, date)
  if (!ruleSet) return []
  const book = openBook(facts)
  const tree = explain(ruleSet.requirement, date, (rule) => evidenceFor(rule, book, elections, policy))
  const taken = withdrawalsOf(book, policy.certificateKey).findLast((w) => holdsOn(w.days, date))
  const anewFrom = taken ? addDays(taken.on, 1) : null
  const items: TodoItem[] = []
  const walk = (node: Explanation, path: string, choices: Choice[]): void => {
    if (node.holds) return
    if (node.kind === 'evidence') {
      const dates = evidenceDatesFor(node.rule.window, date, elections)
      const opens = dates?.doFrom ?? null
      const doFrom = anewFrom && opens ? laterOf(anewFrom, opens) : (anewFrom ?? opens)
      items.push({
        path,
        rule: node.rule,
        reason: node.reason as TodoItem['reason'],
        fact: node.fact,
        until: node.until,
        doFrom,
        doBy: date,
        possible: dates !== undefined && (doFrom === null || doFrom <= date),
        choices,
      })
      return
    }
    const open = choosable(node)
    for (const [option, part] of open) {
      const below = path === '' ? String(option) : `${path}.${option}`
      // Where all parts that are left are needed, there is nothing to choose.
      const free = open.length > node.needed
      walk(
        part,
        below,
        free ? [...choices, { group: path, stillNeeded: node.needed - node.held, option }] : choices,
      )
    }
  }
  walk(tree, '', [])
  return items
}
