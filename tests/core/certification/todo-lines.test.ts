import { describe, expect, it } from 'vitest'
import { todo } from '@/lib/certification/core/todo'
import { todoLines } from '@/lib/certification/core/todo-lines'
import type { Requirement, Window } from '@/lib/certification/schema'
import { civilDate } from '@/lib/kernel/dates'
import { policyOf, rule } from './examples'

const ALWAYS: Window = { kind: 'always' }
const said = (fact: Parameters<typeof rule>[0], topic: string, en: string, es: string) =>
  rule(fact, topic, ALWAYS, { label: { en, es } })
const QUIZ = said('quizPassed', 'basics', 'Pass the quiz', 'Apruebe el examen')
const CLASS = said('classAttended', 'leads', 'Attend the class', 'Asista a la clase')
const SHOW = said('checkOff', 'card', 'Show a trainer', 'Muéstrelo a un capacitador')
const SERVED = said('served', 'lead', 'Have served as lead', 'Haber trabajado como responsable')

const linesOf = (requirement: Requirement) =>
  todoLines(todo(policyOf(requirement), [], [], civilDate('2028-11-07')))

describe('what is left to do, as lines', () => {
  it('says what is needed in any case line by line', () => {
    expect(linesOf({ kind: 'all', of: [QUIZ, CLASS] }).map((line) => line.en)).toEqual([
      'Pass the quiz',
      'Attend the class',
    ])
  })

  it('says a choice in one line, in both languages', () => {
    const lines = linesOf({ kind: 'all', of: [QUIZ, { kind: 'any', of: [CLASS, SHOW] }] })
    expect(lines.map((line) => line.en)).toEqual(['Pass the quiz', 'Attend the class, or: Show a trainer'])
    expect(lines[1]!.es).toBe('Asista a la clase; o bien: Muéstrelo a un capacitador')
  })

  it('leaves out of a choice what nobody can do any more', () => {
    expect(linesOf({ kind: 'any', of: [CLASS, SERVED] }).map((line) => line.en)).toEqual(['Attend the class'])
  })
})
