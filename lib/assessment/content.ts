/** The questions and quiz designs that ship in content/: read once, parsed by the schemas, kept. Server only. */
import { canonicalJson, sha256Hex } from '@/lib/kernel/hash'
import { ContentError, contentFiles, readContentFile } from '@/lib/scenarios/content'
import { type Bank, type Question, QuestionFile, QuizDesign } from './schema'

let bank: Bank | undefined
let designs: ReadonlyMap<string, QuizDesign> | undefined

/** Every shipped question, by id. @throws ContentError where a file breaks the schema or an id is used twice. */
export function loadBank(): Bank {
  if (bank) return bank
  const all = new Map<string, Question>()
  for (const file of contentFiles('questions'))
    for (const question of readContentFile(file, QuestionFile).questions) {
      if (all.has(question.id))
        throw new ContentError(file, [{ path: question.id, message: 'is the id of another question too' }])
      all.set(question.id, question)
    }
  bank = all
  return all
}

const loadDesigns = () => {
  designs ??= new Map(
    contentFiles('quizzes')
      .map((f) => readContentFile(f, QuizDesign))
      .map((d) => [d.id, d]),
  )
  return designs
}

/** Every shipped quiz design, by id. */
export const listQuizDesigns = (): QuizDesign[] => [...loadDesigns().values()]
export const findQuizDesign = (id: string): QuizDesign | null => loadDesigns().get(id) ?? null

/** The version that an attempt ran on: SHA-256 of the design together with the questions of the form (as they were). */
export const definitionHash = (definition: QuizDefinition): string => sha256Hex(canonicalJson(definition))

/** What is kept of a quiz when somebody begins it, so that marking can be replayed after the bank has moved on. */
export interface QuizDefinition {
  design: QuizDesign
  questions: Question[]
}
export const quizDefinition = (
  design: QuizDesign,
  bank: Bank,
  questionIds: readonly string[],
): QuizDefinition => ({
  design,
  questions: [...questionIds].sort().map((id) => bank.get(id)!),
})
export const bankOf = (definition: QuizDefinition): Bank =>
  new Map(definition.questions.map((q) => [q.id, q]))
