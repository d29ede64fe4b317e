import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { contrastRatio, relativeLuminance } from '@/app/look/contrast'

interface Row {
  fg: string
  bg: string
  luminance_fg: number
  ratio: number
}
const published = JSON.parse(readFileSync('tests/reference/wcag/contrast_values.json', 'utf8')) as Row[]
const css = readFileSync('app/look/tokens.css', 'utf8')

/** Theme → token → colour, read from the stylesheet itself. */
function themes(): Record<string, Record<string, string>> {
  const found: Record<string, Record<string, string>> = {}
  for (const block of css.matchAll(/([^{}]*)\{([^{}]*--ink:[^{}]*)\}/g)) {
    const selector = block[1]!.trim().split('\n').at(-1)!.trim()
    found[selector] = Object.fromEntries(
      [...block[2]!.matchAll(/--([a-z-]+):\s*(#[0-9a-f]{6});/g)].map((m) => [m[1]!, m[2]!]),
    )
  }
  return found
}

/** Foreground, backgrounds, least ratio: text 4.5 (WCAG 2.2, 1.4.3); lines of controls and focus 3 (1.4.11). */
const PAIRS: [string, string[], number][] = [
  ['ink', ['paper', 'panel', 'shade', 'accent-soft', 'good-soft', 'warn-soft', 'bad-soft'], 7],
  ['ink-soft', ['paper', 'panel', 'shade', 'accent-soft'], 4.5],
  ['accent', ['paper', 'panel', 'accent-soft'], 4.5],
  ['accent-ink', ['accent'], 4.5],
  ['good', ['panel', 'paper', 'good-soft'], 4.5],
  ['warn', ['panel', 'paper', 'warn-soft'], 4.5],
  ['bad', ['panel', 'paper', 'bad-soft'], 4.5],
  ['line', ['paper', 'panel'], 3],
  ['focus', ['paper', 'panel', 'shade'], 3],
]

describe('contrast', () => {
  it('equals the worked values of the reference (tests/reference/wcag)', () => {
    expect(published.length).toBeGreaterThan(10)
    for (const row of published) {
      expect(relativeLuminance(row.fg)).toBeCloseTo(row.luminance_fg, 6)
      expect(contrastRatio(row.fg, row.bg)).toBeCloseTo(row.ratio, 5)
    }
  })

  it('refuses what is not a colour', () => expect(() => relativeLuminance('red')).toThrow(RangeError))

  const all = themes()
  it('reads the four theme blocks', () => expect(Object.keys(all)).toHaveLength(4))
  for (const [theme, colours] of Object.entries(all))
    for (const [front, backs, least] of PAIRS)
      for (const back of backs)
        it(`keeps ${front} on ${back} at ${least} or more in ${theme}`, () => {
          expect(contrastRatio(colours[front]!, colours[back]!)).toBeGreaterThanOrEqual(least)
        })
})
