import { type Random, seededRandom, seedOf } from '@/lib/kernel/random'
import type { Band, Bank, Cell, Competency, Form, Question, QuizDesign } from '../schema'
import { type Candidate, type Problem, violationOf } from './draw-problem'
import { searchByTree } from './draw-tree'

/** What writers expect of people who were trained, until answers say it better (common practice, from memory: not a
 *  measured value). Share of the point. */
export const EXPECTED_BY_BAND: Record<Band, number> = { easy: 0.9, medium: 0.75, hard: 0.6 }

export interface DrawInput {
  design: QuizDesign
  bank: Bank
  seed: number
  /** Question ids of the person's earlier forms of this design. */
  earlierForms?: readonly (readonly string[])[] | undefined
  /** Question id → how often it was drawn so far; the least drawn come first. */
  exposure?: ReadonlyMap<string, number> | undefined
  /** Question id → share of the point that people earn (their p); `EXPECTED_BY_BAND` where missing. */
  expectedFractions?: ReadonlyMap<string, number> | undefined
}

export interface ShortCell {
  /** `bank`: the cell has too few live questions. `overlap`: with these earlier forms the limit can't be kept.
   *  `topic`: a must-include topic can't be met. `expected`: no form has the design's expected score within its
   *  tolerance. `search`: none was found within the search limit, though there may be one. */
  reason: 'bank' | 'overlap' | 'topic' | 'expected' | 'search'
  competency: Competency | null
  band: Band | null
  topic: string | null
  needed: number
  available: number
}

export type DrawOutcome =
  | { status: 'drawn'; questionIds: string[]; trialIds: string[]; expectedFraction: number; form: Form }
  | { status: 'short'; cells: ShortCell[] }

/** The design's own expected score: what a form drawn blindly would expect, Σ count × mean of the cell. Every form is
 *  held to it, so any two forms differ by at most twice the tolerance. */
const targetOf = (cells: Problem['cells']): number =>
  cells.reduce(
    (sum, c) => sum + (c.count * c.candidates.reduce((s, q) => s + q.expected, 0)) / c.candidates.length,
    0,
  )

export const inCell = (cell: Pick<Cell, 'competency' | 'band'>, q: Question): boolean =>
  q.competency === cell.competency && (cell.band === undefined || q.band === cell.band)

/** Draws a form: exactly the blueprint's counts, must-include topics, at most the allowed overlap with each earlier
 *  form, expected score within the design's tolerance, and otherwise the least exposed questions, ties by the seed.
 *  The same input gives the same form on every machine; the order of the bank doesn't matter.
 *  Search: least exposed first, then the best single swap inside a cell until nothing is broken, from several starts;
 *  then a tree search, which also proves that there is no form (`search` where it gives up).
 *  O(starts × swaps × questions) in practice; the tree search is limited to 200,000 nodes. */
export function drawForm(input: DrawInput): DrawOutcome {
  const { design, bank, seed, earlierForms = [], exposure, expectedFractions } = input
  const random = seededRandom(seedOf(`draw ${design.id} ${seed}`))
  const questions = [...bank.values()].sort((a, b) => (a.id < b.id ? -1 : 1))
  const live = questions.filter((q) => q.lifecycle === 'live')
  const expectedOf = (q: Question) => expectedFractions?.get(q.id) ?? EXPECTED_BY_BAND[q.band]

  const tooFew = design.blueprint.cells.flatMap((cell): ShortCell[] => {
    const available = live.filter((q) => inCell(cell, q)).length
    return available >= cell.count ? [] : [shortCell('bank', cell, cell.count, available)]
  })
  if (tooFew.length > 0) return { status: 'short', cells: tooFew }

  const earlier = earlierForms.map((f) => new Set(f))
  const size = design.blueprint.cells.reduce((n, c) => n + c.count, 0)
  const cells = design.blueprint.cells.map((cell) => {
    const own = live.filter((q) => inCell(cell, q))
    const least = own.reduce((low, q) => Math.min(low, exposure?.get(q.id) ?? 0), Number.POSITIVE_INFINITY)
    return {
      count: cell.count,
      candidates: own.map(
        (q): Candidate => ({
          id: q.id,
          expected: expectedOf(q),
          exposure: (exposure?.get(q.id) ?? 0) - least,
          topics: q.topics,
          earlier: earlier.flatMap((form, i) => (form.has(q.id) ? [i] : [])),
        }),
      ),
    }
  })
  const problem: Problem = {
    cells,
    overlapLimit: Math.floor(design.retake.overlapAtMost * size + 1e-9),
    earlierForms: earlier.length,
    topics: design.blueprint.mustInclude,
    target: targetOf(cells),
    tolerance: design.expectedTolerance * size + 1e-9,
  }
  let chosen: Candidate[][] | null = null
  for (let start = 0; start < STARTS && !chosen; start++) chosen = searchBySwaps(problem, random, start)
  if (!chosen) {
    const tree = searchByTree(problem)
    if (tree.status === 'found') chosen = tree.chosen
    else return { status: 'short', cells: explainShort(design, problem, size, tree.status === 'none') }
  }

  const flat = chosen.flat()
  const trialIds = drawTrial(questions, design, random, exposure)
  const questionIds = random.shuffle([...flat.map((c) => c.id), ...trialIds])
  const expectedFraction = flat.reduce((s, c) => s + c.expected, 0) / size
  const form: Form = {
    designId: design.id,
    designVersion: design.version,
    seed,
    questionIds,
    trialIds,
    scenarioKeys: design.scenarios.map((s) => s.key),
    expectedFraction,
  }
  return { status: 'drawn', questionIds, trialIds, expectedFraction, form }
}

const STARTS = 8
const shortCell = (
  reason: ShortCell['reason'],
  cell: Partial<Cell> & { topic?: string },
  needed: number,
  available: number,
): ShortCell => ({
  reason,
  competency: cell.competency ?? null,
  band: cell.band ?? null,
  topic: cell.topic ?? null,
  needed,
  available,
})

/** Questions on trial from the quiz's competencies, the least shown first. */
function drawTrial(
  questions: readonly Question[],
  design: QuizDesign,
  random: Random,
  exposure: ReadonlyMap<string, number> | undefined,
): string[] {
  if (design.blueprint.trialItems === 0) return []
  const competencies = new Set(design.blueprint.cells.map((c) => c.competency))
  const trial = questions.filter((q) => q.lifecycle === 'trial' && competencies.has(q.competency))
  return random
    .shuffle(trial)
    .sort((a, b) => (exposure?.get(a.id) ?? 0) - (exposure?.get(b.id) ?? 0))
    .slice(0, design.blueprint.trialItems)
    .map((q) => q.id)
}

/** Least exposed first, then steepest descent over single swaps: rules first, then exposure. */
function searchBySwaps(p: Problem, random: Random, start: number): Candidate[][] | null {
  // Later starts mix exposure with more and more chance, to leave a dead end.
  const chosen = p.cells.map((cell) => {
    const keyed = random.shuffle(cell.candidates).map((c) => ({ c, key: c.exposure + start * random.next() }))
    keyed.sort((a, b) => a.key - b.key)
    return keyed.map((k) => k.c)
  })
  const taken = chosen.map((cell, i) => cell.slice(0, p.cells[i]!.count))
  const spare = chosen.map((cell, i) => cell.slice(p.cells[i]!.count))
  let violation = violationOf(p, taken)
  while (violation > 0) {
    let best: { cell: number; out: number; in: number; violation: number; exposure: number } | null = null
    for (let cell = 0; cell < taken.length; cell++)
      for (let out = 0; out < taken[cell]!.length; out++)
        for (let into = 0; into < spare[cell]!.length; into++) {
          const old = taken[cell]![out]!
          const fresh = spare[cell]![into]!
          taken[cell]![out] = fresh
          const v = violationOf(p, taken)
          taken[cell]![out] = old
          if (v >= violation) continue
          const exposure = fresh.exposure - old.exposure
          if (!best || v < best.violation || (v === best.violation && exposure < best.exposure))
            best = { cell, out, in: into, violation: v, exposure }
        }
    if (!best) return null
    const old = taken[best.cell]![best.out]!
    taken[best.cell]![best.out] = spare[best.cell]![best.in]!
    spare[best.cell]![best.in] = old
    violation = best.violation
  }
  return taken
}

/** Which rule it is that can't be kept: each rule is tried alone, then named. */
function explainShort(design: QuizDesign, p: Problem, size: number, proven: boolean): ShortCell[] {
  if (!proven) return [shortCell('search', {}, size, 0)]
  const free = { topics: [], tolerance: Number.POSITIVE_INFINITY }
  const out: ShortCell[] = []
  if (searchByTree({ ...p, ...free }).status === 'none')
    for (const [i, cell] of design.blueprint.cells.entries()) {
      const fresh = p.cells[i]!.candidates.filter((c) => c.earlier.length === 0).length
      if (fresh < cell.count) out.push(shortCell('overlap', cell, cell.count, fresh))
    }
  for (const { topic, count } of p.topics) {
    const available = p.cells.reduce(
      (n, c) => n + Math.min(c.count, c.candidates.filter((q) => q.topics.includes(topic)).length),
      0,
    )
    if (available < count) out.push(shortCell('topic', { topic }, count, available))
  }
  if (out.length === 0) out.push(shortCell('expected', {}, size, 0))
  return out
}
