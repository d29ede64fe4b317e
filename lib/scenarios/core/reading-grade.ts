import { syllable } from 'syllable'

export interface ReadingGrade {
  /** School grade in the United States; may be negative for very short words. Not rounded. */
  grade: number
  words: number
  sentences: number
  syllables: number
}

/** Abbreviations whose full stop ends no sentence. */
const ABBREVIATIONS = /\b(Mr|Mrs|Ms|Dr|St|No|vs|e\.g|i\.e|a\.m|p\.m|U\.S\.C|U\.S)\.(?=\s)/g

/** Words: runs without white space that hold a letter or a digit; 'check-in' is one word, as is '8:30'. */
const wordsOf = (text: string): string[] => text.split(/\s+/).filter((w) => /[\p{L}\p{N}]/u.test(w))

/** A figure is counted as one syllable; other words by the `syllable` package, at least one. */
const syllablesOf = (word: string): number =>
  Math.max(1, syllable(word.replaceAll('’', "'").replace(/^[^\p{L}\p{N}]+|[^\p{L}\p{N}]+$/gu, '')))

/** Sentences: ended by . ! ? … (with closing quotes or brackets) before white space, or by a new line. */
const sentencesOf = (text: string): string[] =>
  text
    .replace(ABBREVIATIONS, (m) => m.slice(0, -1))
    .split(/(?<=[.!?…][”"’')\]]*)\s+|\n+/)
    .filter((s) => wordsOf(s).length > 0)

/** Flesch–Kincaid grade of an English text: 0.39 × words/sentences + 11.8 × syllables/words − 15.59.
 *  `null` where there is no word. O(length).
 *  Source: Kincaid, Fishburne, Rogers & Chissom 1975, Research Branch Report 8-75 (coefficients as quoted in public
 *  pages; the report itself was not at hand). Counting rules (abbreviations, figures, hyphens) are our own. */
export function readingGrade(text: string): ReadingGrade | null {
  const words = wordsOf(text)
  if (words.length === 0) return null
  const sentences = Math.max(1, sentencesOf(text).length)
  const syllables = words.reduce((sum, word) => sum + syllablesOf(word), 0)
  return {
    grade: gradeFrom(words.length, sentences, syllables),
    words: words.length,
    sentences,
    syllables,
  }
}

/** The formula alone. @throws RangeError where words or sentences are not positive. */
export function gradeFrom(words: number, sentences: number, syllables: number): number {
  if (!(words > 0 && sentences > 0)) throw new RangeError('words and sentences must be more than 0')
  return 0.39 * (words / sentences) + 11.8 * (syllables / words) - 15.59
}
