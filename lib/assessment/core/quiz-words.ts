/** Figures in plain English: what they mean and what to do about them. */
import { findingText } from './distractors'
import type { ItemReport, QuizReport } from './quiz-report'

const ORDINALS = ['first', 'second', 'third', 'fourth', 'fifth', 'sixth', 'seventh', 'eighth']
const inHundred = (share: number): string => `${Math.round(share * 100)} of 100`
const percent = (share: number): string => `${Math.round(share * 100)} %`
/** "third answer", "first, second and fourth answers". */
const answers = (ordinals: readonly string[]): string =>
  ordinals.length === 1
    ? `${ordinals[0]} answer`
    : `${ordinals.slice(0, -1).join(', ')} and ${ordinals.at(-1)} answers`

export interface Advice {
  /** look: somebody should look at it soon. know: good to know. */
  weight: 'look' | 'know'
  text: string
}

const LOOK = new Set(['does-not-tell-apart', 'too-hard'])

/** What a trainer should do about a question, the most pressing first. `options` in the order in which they are
 *  written. Empty where nothing is wrong. */
export function itemAdvice(item: ItemReport, options: readonly { id: string }[]): Advice[] {
  const names = (kind: 'check-the-key' | 'nobody-chooses') =>
    item.findings
      .flatMap((f) => (f.kind === kind ? [options.findIndex((o) => o.id === f.option)] : []))
      .sort((x, y) => x - y)
      .map((at) => ORDINALS[at] ?? 'other')
  const out: Advice[] = []
  const tempting = names('check-the-key')
  if (tempting.length > 0)
    out.push({
      weight: 'look',
      text: `The ${answers(tempting)} ${tempting.length === 1 ? 'attracts' : 'attract'} strong people more than the key does: check the key.`,
    })
  const tooEasy = item.findings.some((f) => f.kind === 'too-easy')
  for (const finding of item.findings) {
    if (finding.kind === 'check-the-key' || finding.kind === 'nobody-chooses') continue
    // Where nearly everybody is right, nobody can be told apart: one sentence is enough.
    if (finding.kind === 'does-not-tell-apart' && tooEasy) continue
    out.push({ weight: LOOK.has(finding.kind) ? 'look' : 'know', text: findingText(finding, () => '') })
  }
  const idle = names('nobody-chooses')
  if (idle.length > 0)
    out.push({
      weight: 'know',
      text: `Hardly anybody chooses the ${answers(idle)}: write ${idle.length === 1 ? 'a likelier wrong answer' : 'likelier wrong answers'}.`,
    })
  const { drift, functioning } = item
  if (drift?.drifted && drift.before !== null && drift.after !== null)
    out.push({
      weight: 'look',
      text:
        drift.change > 0
          ? `It became easier than the other questions did (${percent(drift.before)} right before, ${percent(drift.after)} since): has it been passed on, or taught word for word?`
          : `It became harder than the other questions did (${percent(drift.before)} right before, ${percent(drift.after)} since): has the procedure or the equipment changed?`,
    })
  if (functioning?.size === 'B' || functioning?.size === 'C')
    out.push({
      weight: functioning.size === 'C' ? 'look' : 'know',
      text: `Of people who do equally well on the rest, those who read ${functioning.delta! < 0 ? 'Spanish' : 'English'} are right less often: have the ${functioning.delta! < 0 ? 'translation' : 'English text'} read by a qualified reviewer.`,
    })
  return out.sort((a, b) => Number(a.weight === 'know') - Number(b.weight === 'know'))
}

/** What the whole quiz's figures mean. */
export function quizWords(report: QuizReport): string[] {
  const out: string[] = []
  const { reliability, consistency } = report
  if (!reliability)
    out.push(
      'There are too few sittings to say how reliable the score is; about fifty people with like forms are needed.',
    )
  else {
    const { alpha, standardError } = reliability
    out.push(
      `${
        alpha >= 0.8
          ? 'The score is reliable enough to rank people by it'
          : alpha >= 0.6
            ? 'The score is reliable enough to tell ready from not ready, not to rank people by it'
            : 'The score says little about one person: a longer quiz, or questions that tell people apart, would help'
      } (reliability ${alpha.toFixed(2)}). A person’s score is sure to about ${Math.round(standardError * 100)} points of 100 either way.`,
    )
  }
  if (consistency)
    out.push(
      `With another form of the same quiz, ${inHundred(consistency.agreement)} people would get the same verdict. ${inHundred(consistency.falsePasses)} pass although their knowledge lies below the mark; ${inHundred(consistency.falseFails)} fail although it lies above.`,
    )
  if (report.languages.es < 100 || report.languages.en < 100)
    out.push(
      `Whether a question is fairer in one language than in the other can be said from a hundred sittings in each; there are ${report.languages.en} in English and ${report.languages.es} in Spanish.`,
    )
  return out
}

/** How strongly people who do well on the rest are right here. */
export const tellsApartWords = (correlation: number | null): string =>
  correlation === null
    ? 'can’t be said'
    : correlation >= 0.3
      ? 'well'
      : correlation >= 0.15
        ? 'somewhat'
        : 'hardly'
