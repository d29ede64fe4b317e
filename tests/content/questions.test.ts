import { describe, expect, it } from 'vitest'
import { findQuizDesign, listQuizDesigns, loadBank } from '@/lib/assessment/content'
import { drawForm } from '@/lib/assessment/core/draw'
import { markForm } from '@/lib/assessment/core/mark'
import { showQuestion, stripForm } from '@/lib/assessment/core/strip'
import type { Answer, Question } from '@/lib/assessment/schema'
import { findScenario } from '@/lib/scenarios/content'
import { readingGrade } from '@/lib/scenarios/core/reading-grade'
import { COMPETENCIES } from '@/lib/scenarios/core/words'

const bank = loadBank()
const questions = [...bank.values()]
const live = questions.filter((q) => q.lifecycle === 'live')

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
  it('cover every competency of the lessons', () => {
    for (const competency of COMPETENCIES)
      expect(live.filter((q) => q.competency === competency).length, competency).toBeGreaterThanOrEqual(3)
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

  it('send people to a lesson that exists', () => {
    expect(questions.filter((q) => !findScenario(q.practise)).map((q) => `${q.id}: ${q.practise}`)).toEqual(
      [],
    )
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

  it('give the key neither by place in the file nor by being the longest', () => {
    const single = live.filter((q) => q.kind === 'single')
    const four = single.filter((q) => q.options.length === 4)
    for (const place of [0, 1, 2, 3]) {
      const share = four.filter((q) => q.options[place]!.right).length / four.length
      expect(share).toBeLessThan(0.5)
    }
    const longest = single.filter((q) => {
      const right = q.options.find((o) => o.right)!.id
      const texts = q.texts.en.options
      return Object.entries(texts).every(([id, t]) => id === right || t.length < texts[right]!.length)
    })
    expect(longest.length / single.length).toBeLessThan(0.6)
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

  it('can be taken again twice within its overlap limit', () => {
    const earlierForms: string[][] = []
    for (let seed = 1; seed <= 3; seed++) {
      const drawn = drawForm({ design, bank, seed, earlierForms })
      if (drawn.status !== 'drawn') throw new Error(JSON.stringify(drawn))
      earlierForms.push(drawn.questionIds)
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
