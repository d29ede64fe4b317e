import { describe, expect, it } from 'vitest'
import { gradeFrom, readingGrade } from '@/lib/scenarios/core/reading-grade'

/* Words, sentences and syllables are counted by hand here, syllable by syllable; the grade is worked out from the
   formula 0.39 w/s + 11.8 y/w − 15.59 (Kincaid et al. 1975; coefficients as quoted in public pages). */
const PASSAGES = [
  {
    // The(1) card(1) is(1) in(1) the(1) slot(1). = 6 words, 6 syllables, 1 sentence
    // 0.39·6 + 11.8·1 − 15.59 = 2.34 + 11.8 − 15.59 = −1.45
    text: 'The card is in the slot.',
    words: 6,
    sentences: 1,
    syllables: 6,
    grade: -1.45,
  },
  {
    // Ask(1) be-fore(2) you(1) help(1). 4 / 5 · The(1) vot-er(2) turns(1) the(1) card(1). 5 / 6
    // 9 words, 2 sentences, 11 syllables: 0.39·4.5 + 11.8·11/9 − 15.59 = 1.755 + 14.4222… − 15.59 = 0.58722…
    text: 'Ask before you help. The voter turns the card.',
    words: 9,
    sentences: 2,
    syllables: 11,
    grade: 0.587222,
  },
  {
    // A(1) poll(1) work-er(2) ex-plains(2) the(1) no-tice(2) but(1) nev-er(2) sug-gests(2) a(1) name(1).
    // 11 words, 16 syllables, 1 sentence: 0.39·11 + 11.8·16/11 − 15.59 = 4.29 + 17.163636… − 15.59 = 5.863636…
    text: 'A poll worker explains the notice but never suggests a name.',
    words: 11,
    sentences: 1,
    syllables: 16,
    grade: 5.863636,
  },
  {
    // Con-tem-po-rar-y(5) ad-min-is-tra-tion(5) ne-ces-si-tates(4) un-in-ter-rupt-ed(5) doc-u-men-ta-tion(5).
    // 5 words, 24 syllables, 1 sentence: 0.39·5 + 11.8·4.8 − 15.59 = 1.95 + 56.64 − 15.59 = 43.0
    text: 'Contemporary administration necessitates uninterrupted documentation.',
    words: 5,
    sentences: 1,
    syllables: 24,
    grade: 43,
  },
]

describe('the Flesch–Kincaid grade', () => {
  it.each(PASSAGES)(
    'agrees with counts made by hand: $text',
    ({ text, words, sentences, syllables, grade }) => {
      const result = readingGrade(text)!
      expect({ words: result.words, sentences: result.sentences, syllables: result.syllables }).toEqual({
        words,
        sentences,
        syllables,
      })
      expect(result.grade).toBeCloseTo(grade, 5)
    },
  )

  it('ends no sentence at an abbreviation, a decimal point or inside quotes', () => {
    expect(
      readingGrade('Mr. Quist asks Dr. Rowe. She says “Wait here.” The plug is 3.5 mm wide.')!.sentences,
    ).toBe(3)
  })

  it('counts a hyphened word once and a dash not at all', () => {
    expect(readingGrade('The check-in table – go there.')!.words).toBe(5)
  })

  it('is undefined without words', () => {
    expect(readingGrade(' … 。')).toBeNull()
    expect(() => gradeFrom(0, 1, 1)).toThrow(RangeError)
  })
})
