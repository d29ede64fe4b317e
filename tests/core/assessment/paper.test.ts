import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { markQuestion } from '@/lib/assessment/core/mark-question'
import {
  answerFromSheet,
  differences,
  keyOnSheet,
  paperDesign,
  sheetQuestion,
} from '@/lib/assessment/core/paper'
import { SMALL_BANK, SMALL_DESIGN } from '@/tests/db/assessment/small-quiz'

const question = (id: string) => SMALL_BANK.get(id)!

describe('a quiz on paper', () => {
  it('asks the story’s points as questions on the same subject', () => {
    const design = paperDesign(SMALL_DESIGN)
    expect(design.scenarios).toEqual([])
    expect(design.blueprint.cells).toContainEqual({ competency: 'card-handling', count: 2 })
    expect(SMALL_DESIGN.blueprint.cells).toHaveLength(3)
  })

  it('reads the key sheet back as right, whatever the seed and the kind', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 2 ** 31 - 1 }), (seed) => {
        for (const q of SMALL_BANK.values())
          expect(markQuestion(q, answerFromSheet(q, seed, keyOnSheet(q, seed)) ?? undefined).fraction).toBe(1)
      }),
      { numRuns: 50 },
    )
  })

  it('takes letters in any writing, and nothing that the question doesn’t have', () => {
    const order = question('o-a')
    const [first, second, third] = sheetQuestion(order, 5, 'en').options
    expect(answerFromSheet(order, 5, ' c, b a ')).toEqual({
      kind: 'order',
      items: [third!.id, second!.id, first!.id],
    })
    for (const bad of ['AB', 'ABD', 'AAB', '1']) expect(answerFromSheet(order, 5, bad)).toBeUndefined()
    expect(answerFromSheet(question('s-a'), 5, 'AB')).toBeUndefined()
    expect(answerFromSheet(question('n-a'), 5, '1,047')).toEqual({ kind: 'number', value: 1047 })
    expect(answerFromSheet(question('n-a'), 5, 'forty')).toBeUndefined()
    expect(answerFromSheet(question('n-a'), 5, '  ')).toBeNull()
  })

  it('names the questions on which two typings differ', () => {
    const a = { x: { kind: 'number' as const, value: 1 }, y: null }
    expect(differences(['x', 'y', 'z'], a, { x: { kind: 'number', value: 1 }, y: null })).toEqual([])
    expect(differences(['x', 'y'], a, { x: { kind: 'number', value: 2 }, y: a.x })).toEqual([1, 2])
  })
})
