import { BRACKET, NEW_LINE, type RuleLine } from './rule-form'

/** The changes that the form's buttons make to the levels of its lines. Each returns new lines; a change that makes no
 *  sense returns them as they were. */

/** The first line after a line and everything inside it. */
export function endOf(lines: readonly RuleLine[], i: number): number {
  let end = i + 1
  while (end < lines.length && lines[end]!.level > lines[i]!.level) end++
  return end
}

/** How far in a line may stand: inside the bracket just above, or beside what is above. */
const deepest = (above: RuleLine | undefined): number =>
  above ? above.level + (above.what === BRACKET ? 1 : 0) : 0

/** Levels as they can be: a line whose bracket is gone moves out, and everything begins outside. */
export function tidyLevels(lines: readonly RuleLine[]): RuleLine[] {
  const tidy: RuleLine[] = []
  for (const line of lines)
    tidy.push({ ...line, level: Math.max(0, Math.min(line.level, deepest(tidy.at(-1)))) })
  return tidy
}

export const canMoveIn = (lines: readonly RuleLine[], i: number): boolean =>
  lines[i] !== undefined && lines[i].level < deepest(lines[i - 1])

const shifted = (lines: readonly RuleLine[], from: number, to: number, by: number): RuleLine[] =>
  tidyLevels(lines.map((line, j) => (j >= from && j < to ? { ...line, level: line.level + by } : line)))

/** One step in, with everything inside it. */
export const moveIn = (lines: readonly RuleLine[], i: number): RuleLine[] =>
  canMoveIn(lines, i) ? shifted(lines, i, endOf(lines, i), 1) : [...lines]

/** One step out, with everything inside it: it then stands after its bracket. */
export function moveOut(lines: readonly RuleLine[], i: number): RuleLine[] {
  const line = lines[i]
  if (!line || line.level === 0) return [...lines]
  const end = endOf(lines, i)
  let bracketEnd = end
  while (bracketEnd < lines.length && lines[bracketEnd]!.level >= line.level) bracketEnd++
  const moved = lines.slice(i, end).map((l) => ({ ...l, level: l.level - 1 }))
  return [...lines.slice(0, i), ...lines.slice(end, bracketEnd), ...moved, ...lines.slice(bracketEnd)]
}

/** Without a line; what was inside it moves out one step. */
export const takeOut = (lines: readonly RuleLine[], i: number): RuleLine[] =>
  shifted(lines, i, endOf(lines, i), -1).filter((_, j) => j !== i)

/** With a new line at the end of a bracket. */
export const addInside = (lines: readonly RuleLine[], i: number): RuleLine[] => {
  const bracket = lines[i]
  if (bracket?.what !== BRACKET) return [...lines]
  const end = endOf(lines, i)
  return [...lines.slice(0, end), { ...NEW_LINE, level: bracket.level + 1 }, ...lines.slice(end)]
}

/** What each line is called: `2.1` is the first line inside the second. */
export function lineNames(lines: readonly RuleLine[]): string[] {
  const counts: number[] = []
  return lines.map(({ level }) => {
    counts.length = level + 1
    counts[level] = (counts[level] ?? 0) + 1
    return Array.from(counts, (n) => n ?? 1).join('.')
  })
}
