import { NEW_LINE, type RuleLine, WINDOW_KINDS } from '@/lib/certification/core/rule-form'
import { addInside, moveIn, moveOut, takeOut, tidyLevels } from '@/lib/certification/core/rule-outline'

export type Search = Record<string, string | string[] | undefined>

export interface Draft {
  lines: RuleLine[]
  effectiveFrom: string
  citation: string
  /** Somebody asked to see what it would do. */
  preview: boolean
}

/** More lines than any rule needs; so many still fit into an address (16 kB in Node). */
const MOST_LINES = 30

const CHANGES: Record<string, (lines: readonly RuleLine[], i: number) => RuleLine[]> = {
  remove: takeOut,
  in: moveIn,
  out: moveOut,
  inside: addInside,
}

const textOf = (search: Search, name: string, otherwise: string): string => {
  const value = search[name]
  return typeof value === 'string' ? value.slice(0, 500) : otherwise
}

/** The draft that an address holds, after the button that was pressed; null: the address holds none. The form sends
 *  itself as an address, so that it works without JavaScript, can be gone back in, and nothing is stored before it is
 *  published. */
export function draftIn(search: Search): Draft | null {
  const count = Number(textOf(search, 'lines', ''))
  if (!Number.isInteger(count) || count < 1) return null
  const button = textOf(search, 'do', 'preview')
  let lines = Array.from({ length: Math.min(count, MOST_LINES) }, (_, i) => lineIn(search, i))
  lines = tidyLevels(lines)
  const [, change, at] = /^(remove|in|out|inside)-(\d{1,2})$/.exec(button) ?? []
  if (change) lines = CHANGES[change]!(lines, Number(at))
  if (button === 'add' || lines.length === 0) lines.push({ ...NEW_LINE })
  if (lines[0]) lines[0] = { ...lines[0], join: 'and' }
  return {
    lines,
    effectiveFrom: textOf(search, 'effectiveFrom', ''),
    citation: textOf(search, 'citation', ''),
    preview: button === 'preview',
  }
}

function lineIn(search: Search, i: number): RuleLine {
  const field = (name: Exclude<keyof RuleLine, 'level'>) => textOf(search, `${i}.${name}`, NEW_LINE[name])
  const window = WINDOW_KINDS.find((kind) => kind === field('window')) ?? NEW_LINE.window
  return {
    level: Number(/^\d{1,2}$/.exec(textOf(search, `${i}.level`, ''))?.[0] ?? 0),
    what: field('what'),
    join: field('join') === 'or' ? 'or' : 'and',
    need: field('need'),
    window,
    number: textOf(search, `${i}.number`, ''),
    date: field('date'),
    plus: field('plus'),
    equipment: field('equipment'),
    score: field('score'),
    labelEn: field('labelEn'),
    labelEs: field('labelEs'),
  }
}
