import { invariant } from '@/lib/kernel/errors'
import { seededRandom, seedOf } from '@/lib/kernel/random'
import type { Bank, Form, Locale, Question } from '../schema'

interface Box {
  x: number
  y: number
  width: number
  height: number
}
interface Named {
  id: string
  text: string
}
interface ShownCommon {
  id: string
  stem: string
}
export type ShownQuestion =
  | (ShownCommon & { kind: 'single' | 'several'; options: Named[] })
  /** `items` in the order in which they are first shown: mixed, never already right. */
  | (ShownCommon & { kind: 'order'; items: Named[] })
  | (ShownCommon & { kind: 'number'; unit: string })
  | (ShownCommon & { kind: 'picture-areas'; fixtures: (Named & Box)[]; areas: (Named & Box)[] })

export interface ShownForm {
  designId: string
  questions: ShownQuestion[]
  scenarioKeys: string[]
}

/** What a browser may see of a form: texts in one language and mixed options. Nothing tells the key: no `right`, no
 *  `critical`, no explanation, no source, no band, no lesson, and not which questions are on trial. The mix depends on
 *  the form's seed alone, so a page shown again is the same. O(options). */
export function stripForm(form: Form, bank: Bank, locale: Locale): ShownForm {
  return {
    designId: form.designId,
    questions: form.questionIds.map((id) => {
      const question = bank.get(id)
      invariant(question, `the form's question ${id} is in the bank`)
      return showQuestion(question, form.seed, locale)
    }),
    scenarioKeys: [...form.scenarioKeys],
  }
}

/** One question as it is shown on the form with this seed. */
export function showQuestion(question: Question, seed: number, locale: Locale): ShownQuestion {
  const texts = question.texts[locale]
  const random = seededRandom(seedOf(`${seed}/${question.id}`))
  const mixed = <T extends { id: string }>(list: readonly T[]) => random.shuffle(list)
  const named = ({ id }: { id: string }): Named => ({ id, text: texts.options[id]! })
  const boxed = (area: { id: string } & Box): Named & Box => ({
    ...named(area),
    x: area.x,
    y: area.y,
    width: area.width,
    height: area.height,
  })
  const common = { id: question.id, stem: texts.stem }
  switch (question.kind) {
    case 'single':
    case 'several':
      return { ...common, kind: question.kind, options: mixed(question.options).map(named) }
    case 'order': {
      const items = mixed(question.items)
      const right = items.every((item, i) => item.id === question.items[i]!.id)
      return {
        ...common,
        kind: 'order',
        items: (right ? [...items.slice(1), items[0]!] : items).map(named),
      }
    }
    case 'number':
      return { ...common, kind: 'number', unit: texts.unit! }
    case 'picture-areas':
      return {
        ...common,
        kind: 'picture-areas',
        fixtures: question.fixtures.map(boxed),
        areas: mixed(question.areas).map(boxed),
      }
  }
}
