import { chanceRight } from '@/lib/assessment/core/latent-model'
import type { Answer, Band, Question } from '@/lib/assessment/schema'
import { type Random, seededRandom, seedOf } from '@/lib/kernel/random'

/** How a question behaves in the demonstration: a two-parameter curve, and a few with a fault that statistics find. */
export interface Behaviour {
  difficulty: number
  discrimination: number
  fault: 'too-easy' | 'tempts-the-able' | 'tells-nobody-apart' | 'leaked' | null
}

const DIFFICULTY: Record<Band, number> = { easy: -2.6, medium: -1.9, hard: -1.1 }
const FAULTS = ['too-easy', 'tempts-the-able', 'tells-nobody-apart', 'leaked'] as const

export const normal = (r: Random): number =>
  Math.sqrt(-2 * Math.log(1 - r.next())) * Math.cos(2 * Math.PI * r.next())

/** Behaviour of each question, from its id alone; the first single choices of four competencies have a fault. */
export function behavioursOf(questions: readonly Question[]): Map<string, Behaviour> {
  const faulty = new Map<string, (typeof FAULTS)[number]>()
  const used = new Set<string>()
  for (const q of questions) {
    const fault = FAULTS[faulty.size]
    if (!fault || q.kind !== 'single' || used.has(q.competency)) continue
    used.add(q.competency)
    faulty.set(q.id, fault)
  }
  return new Map(
    questions.map((q) => {
      const r = seededRandom(seedOf(`behaviour ${q.id}`))
      const fault = faulty.get(q.id) ?? null
      return [
        q.id,
        {
          difficulty: fault === 'too-easy' ? -5.5 : DIFFICULTY[q.band] + 0.6 * normal(r),
          discrimination: Math.exp(0.25 * normal(r)),
          fault,
        },
      ]
    }),
  )
}

/** What a person of this ability answers. `late`: the second half of the history, when the leaked one was known. */
export function answerOf(
  r: Random,
  q: Question,
  behaviour: Behaviour,
  ability: number,
  late: boolean,
): Answer {
  const { difficulty, discrimination, fault } = behaviour
  const chance =
    fault === 'tells-nobody-apart'
      ? 0.62
      : fault === 'leaked' && late
        ? 0.97
        : fault === 'leaked'
          ? 0.62
          : fault === 'tempts-the-able' && ability > 0.2
            ? 0.4
            : chanceRight(ability, difficulty, discrimination)
  return r.next() < chance ? rightAnswer(q) : wrongAnswer(r, q, fault === 'tempts-the-able' && ability > 0.2)
}

const rightIds = (list: readonly { id: string; right: boolean }[]) =>
  list.filter((o) => o.right).map((o) => o.id)

function rightAnswer(q: Question): Answer {
  switch (q.kind) {
    case 'single':
      return { kind: 'single', option: rightIds(q.options)[0]! }
    case 'several':
      return { kind: 'several', options: rightIds(q.options).sort() }
    case 'picture-areas':
      return { kind: 'picture-areas', areas: rightIds(q.areas).sort() }
    case 'order':
      return { kind: 'order', items: q.items.map((item) => item.id) }
    case 'number':
      return { kind: 'number', value: q.answer }
  }
}

/** A mistake as people make them; critical ones are rare. `tempted`: all fall for the same wrong option. */
function wrongAnswer(r: Random, q: Question, tempted: boolean): Answer {
  const mild = <T extends { right: boolean; critical: boolean }>(list: readonly T[]): T => {
    const wrong = list.filter((o) => !o.right)
    const harmless = wrong.filter((o) => !o.critical)
    if (harmless.length === 0) return r.pick(wrong)
    if (tempted) return harmless.at(-1)!
    // The first wrong option is likelier than the others, as in life.
    return r.next() < 0.4 ? harmless[0]! : r.next() < 0.03 ? r.pick(wrong) : r.pick(harmless)
  }
  const several = (list: readonly { id: string; right: boolean; critical: boolean }[]): string[] => {
    const right = rightIds(list)
    return (right.length > 1 && r.next() < 0.6 ? right.slice(1) : [...right, mild(list).id]).sort()
  }
  switch (q.kind) {
    case 'single':
      return { kind: 'single', option: mild(q.options).id }
    case 'several':
      return { kind: 'several', options: several(q.options) }
    case 'picture-areas':
      return { kind: 'picture-areas', areas: several(q.areas) }
    case 'order': {
      const items = q.items.map((item) => item.id)
      const at = r.below(items.length - 1)
      const swapped = items.toSpliced(at, 2, items[at + 1]!, items[at]!)
      return { kind: 'order', items: swapped }
    }
    case 'number':
      return { kind: 'number', value: q.answer + Math.ceil(q.tolerance) + 1 + r.below(12) }
  }
}
