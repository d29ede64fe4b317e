import { ENOUGH_ANSWERS } from './enough'

/** What one person chose on a single-choice question, and how they did on the rest of the quiz (0 to 1). */
export interface Choice {
  /** `null`: left blank. */
  option: string | null
  restFraction: number
}
export interface OptionStatistics {
  option: string
  right: boolean
  people: number
  share: number
  /** Mean of the choosers on the rest of the quiz; `null` where nobody chose it. */
  meanRest: number | null
  /** Choosers among the weakest, middle and strongest third of the people. */
  thirds: [number, number, number]
}
export type Finding =
  | { kind: 'too-few-answers'; people: number; needed: number }
  | { kind: 'too-easy' }
  | { kind: 'too-hard' }
  | { kind: 'does-not-tell-apart' }
  /** This wrong option attracts strong people more than the key does. */
  | { kind: 'check-the-key'; option: string }
  | { kind: 'nobody-chooses'; option: string }

/** How a single-choice question was answered, option by option, strongest evidence against the key first.
 *  Ties at the borders of the thirds stay in the lower one's order of arrival. O(people log people). */
export function optionStatistics(
  options: readonly { id: string; right: boolean }[],
  choices: readonly Choice[],
): OptionStatistics[] {
  const sorted = choices.map((c) => c).sort((a, b) => a.restFraction - b.restFraction)
  const third = (at: number): 0 | 1 | 2 => Math.min(2, Math.floor((3 * at) / sorted.length)) as 0 | 1 | 2
  return options.map(({ id, right }) => {
    const thirds: [number, number, number] = [0, 0, 0]
    let people = 0
    let sum = 0
    sorted.forEach((c, at) => {
      if (c.option !== id) return
      thirds[third(at)]++
      people++
      sum += c.restFraction
    })
    const share = sorted.length === 0 ? 0 : people / sorted.length
    return { option: id, right, people, share, meanRest: people === 0 ? null : sum / people, thirds }
  })
}

/** Fewer people on a wrong option than this say nothing about the key (common practice). */
const ENOUGH_CHOOSERS = 10

/** What a trainer should look at. Limits (0.95, 0.3, 0.1, 2 %) are common practice. */
export function itemFindings(
  item: { people: number; p: number | null; correctedPointBiserial: number | null },
  options: readonly OptionStatistics[] = [],
): Finding[] {
  if (item.people < ENOUGH_ANSWERS)
    return [{ kind: 'too-few-answers', people: item.people, needed: ENOUGH_ANSWERS }]
  const out: Finding[] = []
  const key = options.find((o) => o.right)
  for (const o of options)
    if (
      !o.right &&
      key &&
      o.people >= ENOUGH_CHOOSERS &&
      o.meanRest !== null &&
      o.meanRest > (key.meanRest ?? 0)
    )
      out.push({ kind: 'check-the-key', option: o.option })
  if (item.p !== null && item.p > 0.95) out.push({ kind: 'too-easy' })
  if (item.p !== null && item.p < 0.3) out.push({ kind: 'too-hard' })
  if (item.correctedPointBiserial !== null && item.correctedPointBiserial < 0.1)
    out.push({ kind: 'does-not-tell-apart' })
  for (const o of options)
    if (!o.right && o.share < 0.02) out.push({ kind: 'nobody-chooses', option: o.option })
  return out
}

/** A finding in plain English; `name` gives an option's place or text. */
export function findingText(finding: Finding, name: (option: string) => string): string {
  switch (finding.kind) {
    case 'too-few-answers':
      return `${finding.people} answers are too few to say anything; ${finding.needed} are needed.`
    case 'too-easy':
      return 'Too easy to tell people apart: nearly everybody is right.'
    case 'too-hard':
      return 'Very hard: fewer than three in ten are right. Is it taught, and is it clear?'
    case 'does-not-tell-apart':
      return 'People who do well on the rest are hardly more often right here.'
    case 'check-the-key':
      return `${name(finding.option)} attracts strong people more than the key does: check the key.`
    case 'nobody-chooses':
      return `Hardly anybody chooses ${name(finding.option)}: write a likelier wrong answer.`
  }
}
