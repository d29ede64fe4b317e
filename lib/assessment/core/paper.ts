/** A quiz on paper: which questions, how a sheet is read, and whether two typings agree. Pure. */
import { canonicalJson } from '@/lib/kernel/hash'
import type { Answer, Locale, Question, QuizDesign } from '../schema'
import { showQuestion } from './strip'

/** The design for a form on paper: a story can't be played there, so its points are asked as questions on the same
 *  subject. */
export function paperDesign(design: QuizDesign): QuizDesign {
  const cells = design.blueprint.cells.map((cell) => ({ ...cell }))
  for (const { competency, weight } of design.scenarios) {
    const count = Math.max(1, Math.round(weight))
    const cell = cells.find((c) => c.competency === competency)
    if (cell) cell.count += count
    else cells.push({ competency, count })
  }
  return { ...design, blueprint: { ...design.blueprint, cells }, scenarios: [] }
}

/** What is printed for one question: a letter for each answer, in the order of this form. */
export interface SheetQuestion {
  id: string
  kind: Question['kind']
  stem: string
  options: { letter: string; id: string; text: string }[]
  unit: string | null
}

const LETTERS = 'ABCDEFGHIJKLMNOP'

export function sheetQuestion(question: Question, seed: number, locale: Locale): SheetQuestion {
  const shown = showQuestion(question, seed, locale)
  const list =
    shown.kind === 'order'
      ? shown.items
      : shown.kind === 'picture-areas'
        ? shown.areas
        : 'options' in shown
          ? shown.options
          : []
  return {
    id: question.id,
    kind: question.kind,
    stem: shown.stem,
    options: list.map(({ id, text }, i) => ({ letter: LETTERS[i]!, id, text })),
    unit: shown.kind === 'number' ? shown.unit : null,
  }
}

/** Reads what was typed from the sheet: "B", "A C" or "ac", for an order all letters from first to last, or a number.
 *  Null where it is empty; undefined where it can't belong to the question. */
export function answerFromSheet(question: Question, seed: number, typed: string): Answer | null | undefined {
  const text = typed.trim()
  if (text === '') return null
  if (question.kind === 'number') {
    const digits = text.replace(/[\s,_]/g, '')
    return /^-?\d{1,9}(\.\d{1,6})?$/.test(digits) ? { kind: 'number', value: Number(digits) } : undefined
  }
  const { options } = sheetQuestion(question, seed, 'en')
  const letters = [...text.toUpperCase().replace(/[\s,.;-]/g, '')]
  const ids = letters.map((letter) => options.find((o) => o.letter === letter)?.id)
  if (ids.some((id) => id === undefined) || new Set(ids).size !== ids.length) return undefined
  const chosen = ids as string[]
  switch (question.kind) {
    case 'single':
      return chosen.length === 1 ? { kind: 'single', option: chosen[0]! } : undefined
    case 'several':
      return { kind: 'several', options: chosen.sort() }
    case 'picture-areas':
      return { kind: 'picture-areas', areas: chosen.sort() }
    case 'order':
      return chosen.length === options.length ? { kind: 'order', items: chosen } : undefined
  }
}

/** The right answer as it stands on the sheet. */
export function keyOnSheet(question: Question, seed: number): string {
  const { options } = sheetQuestion(question, seed, 'en')
  const letter = (id: string) => options.find((o) => o.id === id)!.letter
  switch (question.kind) {
    case 'number':
      return question.tolerance > 0 ? `${question.answer} ± ${question.tolerance}` : String(question.answer)
    case 'order':
      return question.items.map((item) => letter(item.id)).join(' ')
    default: {
      const list = question.kind === 'picture-areas' ? question.areas : question.options
      return list
        .filter((o) => o.right)
        .map((o) => letter(o.id))
        .sort()
        .join(' ')
    }
  }
}

/** Question id → answer; null: left blank. */
export type TypedAnswers = Record<string, Answer | null>

/** The numbers (from 1) of the questions on which two typings differ. */
export const differences = (questionIds: readonly string[], a: TypedAnswers, b: TypedAnswers): number[] =>
  questionIds.flatMap((id, i) =>
    canonicalJson(a[id] ?? null) === canonicalJson(b[id] ?? null) ? [] : [i + 1],
  )

/** Texts of the sheets, in the language of the person who fills them in. */
export const SHEET_TEXTS = {
  en: {
    questions: 'Questions',
    answers: 'Answer sheet',
    howTo: 'Write your answers on the answer sheet, not here. Take the time that you need.',
    single: 'Choose one answer.',
    several: 'Choose every answer that is right.',
    order: 'Write the letters in the right order, from first to last.',
    number: 'Write a number.',
    areas: 'Choose every place that is meant.',
    name: 'Name',
    date: 'Date',
    form: 'Form',
    letters: 'Write the letter or letters, or the number.',
  },
  es: {
    questions: 'Preguntas',
    answers: 'Hoja de respuestas',
    howTo: 'Escriba sus respuestas en la hoja de respuestas, no aquí. Tómese el tiempo que necesite.',
    single: 'Elija una respuesta.',
    several: 'Elija todas las respuestas correctas.',
    order: 'Escriba las letras en el orden correcto, de la primera a la última.',
    number: 'Escriba un número.',
    areas: 'Elija todos los lugares que correspondan.',
    name: 'Nombre',
    date: 'Fecha',
    form: 'Formulario',
    letters: 'Escriba la letra o las letras, o el número.',
  },
} as const
