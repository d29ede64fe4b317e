import { describe, expect, it } from 'vitest'
import { findQuizDesign, listQuizDesigns, loadBank } from '@/lib/assessment/content'
import { drawForm, EXPECTED_BY_BAND, inCell } from '@/lib/assessment/core/draw'
import { markForm } from '@/lib/assessment/core/mark'
import { showQuestion, stripForm } from '@/lib/assessment/core/strip'
import { type Answer, BANDS, type Locale, type Question, type QuestionOf } from '@/lib/assessment/schema'
import { findScenario, listScenarios } from '@/lib/scenarios/content'
import { readingGrade } from '@/lib/scenarios/core/reading-grade'
import { COMPETENCIES } from '@/lib/scenarios/core/words'

const bank = loadBank()
const questions = [...bank.values()]
const live = questions.filter((q) => q.lifecycle === 'live')

/** The subjects of the thirty-six lessons, at the place of the lesson's own number: what `topics` of a question names. */
const LESSON_TOPICS = [
  'right-blank-ballot',
  'wrong-style',
  'not-in-the-book',
  'already-voted',
  'mail-ballot',
  'provisional',
  'card-returned',
  'changing-a-choice',
  'text-and-contrast',
  'undervote-notice',
  'left-empty',
  'overvote',
  'printed-not-cast',
  'check-the-print',
  'privacy',
  'scanner-returns',
  'leaving-with-ballot',
  'left-before-printing',
  'audio-ballot',
  'switches',
  'wheelchair-table',
  'helper',
  'reads-little-english',
  'at-the-kerb',
  'opening',
  'seals-and-custody',
  'jam-and-full-box',
  'power-failure',
  'ballots-short',
  'station-out',
  'closing',
  'observers',
  'line-and-heat',
  'phones-and-cameras',
  'argument',
  'emergency',
]

/** Words of three letters or more, and figures. */
const contentWords = (text: string): Set<string> => new Set(text.toLowerCase().match(/\p{L}{3,}|\d+/gu) ?? [])

/** Words in both ÷ words in either (Jaccard 1901). */
function jaccard(a: ReadonlySet<string>, b: ReadonlySet<string>): number {
  const both = [...a].filter((w) => b.has(w)).length
  return both / (a.size + b.size - both)
}

const figuresOf = (text: string): string[] => (text.match(/\d+(?:[.,:]\d+)*/g) ?? []).sort()

/** Shares of questions in which the key alone is the longest, or the shortest, of the options. */
function extremeKeyShare(single: readonly QuestionOf<'single'>[], locale: Locale) {
  const lengths = single.map((q) => {
    const texts = q.texts[locale].options
    const key = q.options.find((o) => o.right)!.id
    const others = q.options.filter((o) => o.id !== key).map((o) => texts[o.id]!.length)
    return { key: texts[key]!.length, others }
  })
  const share = (is: (l: (typeof lengths)[number]) => boolean) => lengths.filter(is).length / lengths.length
  return {
    longest: share((l) => l.key > Math.max(...l.others)),
    shortest: share((l) => l.key < Math.min(...l.others)),
  }
}

/** What a person who knows everything answers. */
function rightAnswer(q: Question): Answer {
  switch (q.kind) {
    case 'single':
      return { kind: 'single', option: q.options.find((o) => o.right)!.id }
    case 'several':
      return { kind: 'several', options: q.options.filter((o) => o.right).map((o) => o.id) }
    case 'order':
      return { kind: 'order', items: q.items.map((i) => i.id) }
    case 'number':
      return { kind: 'number', value: q.answer }
    case 'picture-areas':
      return { kind: 'picture-areas', areas: q.areas.filter((a) => a.right).map((a) => a.id) }
  }
}

describe('the shipped questions', () => {
  it('are enough in every competency and every band', () => {
    for (const competency of COMPETENCIES) {
      const own = live.filter((q) => q.competency === competency)
      expect(own.length, competency).toBeGreaterThanOrEqual(16)
      for (const band of BANDS)
        expect(own.filter((q) => q.band === band).length, `${competency} ${band}`).toBeGreaterThanOrEqual(5)
    }
  })

  it('ask about the subject of each of the thirty-six lessons', () => {
    const topics = LESSON_TOPICS.map((t) => live.filter((q) => q.topics.includes(t)).length)
    expect(LESSON_TOPICS.filter((_, i) => topics[i]! < 3)).toEqual([])
    expect(
      questions.filter((q) => !LESSON_TOPICS.some((t) => q.topics.includes(t))).map((q) => q.id),
    ).toEqual([])
  })

  it('use every kind of question, and several of them each', () => {
    for (const kind of ['single', 'several', 'order', 'number', 'picture-areas'])
      expect(live.filter((q) => q.kind === kind).length, kind).toBeGreaterThanOrEqual(4)
  })

  it('read at or below grade 8 in English', () => {
    const hard = questions.flatMap((q) => {
      const { stem, options, explanation } = q.texts.en
      const sentences = [stem, ...Object.values(options), explanation].map((t) =>
        /[.!?”]$/.test(t) ? t : `${t}.`,
      )
      const grade = readingGrade(sentences.join(' '))!.grade
      return grade > 8 ? [`${q.id}: ${grade.toFixed(1)}`] : []
    })
    expect(hard).toEqual([])
  })

  it('send people to the lesson on their own subject', () => {
    const lessons = new Map(listScenarios().map((s) => [s.number, s.id]))
    const astray = questions.flatMap((q) => {
      const lesson = lessons.get(LESSON_TOPICS.indexOf(q.topics[0]!) + 1)
      return lesson === q.practise ? [] : [`${q.id}: ${q.practise}, not ${lesson}`]
    })
    expect(astray).toEqual([])
  })

  it('are not the same text twice, in either language', () => {
    for (const locale of ['en', 'es'] as const) {
      const stems = questions.map((q) => q.texts[locale].stem.toLowerCase())
      expect(new Set(stems).size).toBe(stems.length)
      for (const q of questions) {
        const options = Object.values(q.texts[locale].options).map((t) => t.toLowerCase())
        expect(new Set(options).size, q.id).toBe(options.length)
      }
    }
    // A forgotten translation looks like this.
    expect(questions.filter((q) => q.texts.en.stem === q.texts.es.stem)).toEqual([])
  })

  it('have no two stems that ask nearly the same', () => {
    for (const locale of ['en', 'es'] as const) {
      const words = questions.map((q) => contentWords(q.texts[locale].stem))
      const close = questions.flatMap((q, i) =>
        questions
          .slice(0, i)
          .flatMap((other, j) =>
            jaccard(words[i]!, words[j]!) > 0.7 ? [`${locale}: ${q.id} and ${other.id}`] : [],
          ),
      )
      expect(close).toEqual([])
    }
  })

  it('offer the same options in both languages, each put in its own words', () => {
    for (const q of questions) {
      const { en, es } = q.texts
      expect(Object.keys(es.options).sort(), q.id).toEqual(Object.keys(en.options).sort())
      const untranslated = Object.keys(en.options).filter((id) => en.options[id] === es.options[id])
      expect(untranslated, q.id).toEqual([])
      expect(es.explanation, q.id).not.toBe(en.explanation)
      // A number that is changed in one language only makes another question of it.
      expect(figuresOf(es.stem), q.id).toEqual(figuresOf(en.stem))
    }
  })

  it('give the key neither by its place in the file nor by its length', () => {
    const single = live.filter((q) => q.kind === 'single')
    const places = [0, 1, 2, 3].map(
      (place) => single.filter((q) => q.options[place]?.right).length / single.length,
    )
    const share = { en: extremeKeyShare(single, 'en'), es: extremeKeyShare(single, 'es') }
    const percent = (x: number) => `${(100 * x).toFixed(0)} %`
    console.info(
      `${single.length} single choices; key at place 1 to 4: ${places.map(percent).join(', ')}; ` +
        `key longest: ${percent(share.en.longest)} English, ${percent(share.es.longest)} Spanish; ` +
        `key shortest: ${percent(share.en.shortest)} English, ${percent(share.es.shortest)} Spanish`,
    )
    for (const place of places) {
      expect(place).toBeGreaterThan(0.18)
      expect(place).toBeLessThan(0.32)
    }
    for (const locale of ['en', 'es'] as const) {
      expect(share[locale].longest).toBeLessThanOrEqual(0.4)
      expect(share[locale].shortest).toBeLessThanOrEqual(0.4)
    }
  })

  it('say where their facts come from; values from memory say so', () => {
    for (const q of questions)
      if (q.source.kind === 'law' || q.source.kind === 'standard') expect(q.source.cite, q.id).toMatch(/\d/)
  })
})

describe.each(listQuizDesigns())('the quiz $id', (design) => {
  it('is drawn, passed by right answers and failed by a blank sheet', () => {
    for (let seed = 1; seed <= 20; seed++) {
      const drawn = drawForm({ design, bank, seed })
      if (drawn.status !== 'drawn') throw new Error(JSON.stringify(drawn))
      const answers = Object.fromEntries(drawn.questionIds.map((id) => [id, rightAnswer(bank.get(id)!)]))
      const scores = Object.fromEntries(
        design.scenarios.map((s) => [s.key, { fraction: 1, critical: false }]),
      )
      expect(markForm(drawn.form, bank, answers, design, scores)).toMatchObject({
        scoreFraction: 1,
        passed: true,
      })
      expect(markForm(drawn.form, bank, {}, design)).toMatchObject({ scoreFraction: 0, passed: false })
    }
  })

  it('names scenarios that exist', () => {
    for (const slot of design.scenarios) expect(findScenario(slot.key), slot.key).not.toBeNull()
  })

  it('has three times the questions that a form takes, in every cell', () => {
    for (const cell of design.blueprint.cells) {
      const own = live.filter((q) => inCell(cell, q)).length
      expect(own, `${cell.competency} ${cell.band ?? ''}`).toBeGreaterThanOrEqual(3 * cell.count)
    }
  })

  it('can be taken three times without meeting a counted question twice, each time about as hard', () => {
    const apart = { ...design, retake: { ...design.retake, overlapAtMost: 0 } }
    for (let person = 1; person <= 10; person++) {
      const forms: string[][] = []
      for (let time = 0; time < 3; time++) {
        const drawn = drawForm({ design: apart, bank, seed: 100 * person + time, earlierForms: forms })
        if (drawn.status !== 'drawn') throw new Error(JSON.stringify(drawn))
        const counted = drawn.questionIds.filter((id) => !drawn.trialIds.includes(id))
        expect(counted.filter((id) => forms.flat().includes(id))).toEqual([])
        forms.push(counted)
      }
      const means = forms.map(
        (form) => form.reduce((sum, id) => sum + EXPECTED_BY_BAND[bank.get(id)!.band], 0) / form.length,
      )
      expect(Math.max(...means) - Math.min(...means)).toBeLessThanOrEqual(2 * design.expectedTolerance + 1e-9)
    }
  })
})

describe('what the browser may see', () => {
  it('holds no word of a key, judgement, explanation, source or band', () => {
    const design = findQuizDesign('polls-basics')!
    for (let seed = 1; seed <= 20; seed++) {
      const drawn = drawForm({ design, bank, seed })
      if (drawn.status !== 'drawn') throw new Error('not drawn')
      for (const locale of ['en', 'es'] as const) {
        const sent = JSON.stringify(stripForm(drawn.form, bank, locale))
        expect(sent).not.toMatch(
          /"(right|critical|answer|explanation|source|band|practise|tolerance|rank|trial\w*)":/,
        )
        for (const id of drawn.questionIds)
          expect(sent).not.toContain(bank.get(id)!.texts[locale].explanation)
      }
    }
  })

  it('never shows the items of an order already in order', () => {
    for (const q of questions)
      if (q.kind === 'order')
        for (let seed = 0; seed < 200; seed++) {
          const shown = showQuestion(q, seed, 'en')
          if (shown.kind !== 'order') throw new Error('another kind')
          expect(shown.items.map((i) => i.id)).not.toEqual(q.items.map((i) => i.id))
        }
  })
})
