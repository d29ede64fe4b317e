import type { CivilDate } from '@/lib/kernel/dates'
import { unreachable } from '@/lib/kernel/errors'
import type { BothLanguages, EvidenceRule, Requirement, Window } from '../schema'

export type Language = keyof BothLanguages

/** A requirement read as one sentence without its full stop: 'Finish the lesson …, and pass the quiz … (counts 24
 *  months)'. Uses each leaf's own label, else its kind and topic. Groups within groups stand in brackets, (round) and
 *  [square] by turns. */
export function requirementSentence(requirement: Requirement, language: Language): string {
  const words = WORDS[language]
  const say = (r: Requirement, depth: number): string => {
    if (r.kind === 'evidence') return leafSentence(r, language)
    const parts = r.of.map((part, i) => (i === 0 ? say(part, depth + 1) : inSentence(say(part, depth + 1))))
    if (r.of.length === 1) return say(r.of[0]!, depth)
    const joined =
      r.kind === 'all'
        ? parts.join(words.and)
        : r.kind === 'any'
          ? parts.join(words.or)
          : `${words.atLeast(r.count)}: ${parts.join('; ')}`
    if (depth === 0) return joined
    return depth % 2 === 1 ? `(${joined})` : `[${joined}]`
  }
  return say(requirement, 0)
}

/** Labels begin with a capital, which is small inside a sentence; a name in capitals stays. */
const inSentence = (text: string): string =>
  text.replace(
    /^([([]*)(\p{Lu})(?=\p{Ll})/u,
    (_, bracket: string, letter: string) => bracket + letter.toLowerCase(),
  )

function leafSentence(rule: EvidenceRule, language: Language): string {
  const words = WORDS[language]
  const what = rule.label?.[language] ?? words.fact[rule.fact](rule.topic)
  const score = rule.minScoreFraction === undefined ? null : words.score(rule.minScoreFraction)
  const notes = [
    // A label may say the score itself.
    score && what.includes(score) ? null : score,
    windowPhrase(rule.window, language),
    rule.equipment === undefined
      ? null
      : rule.equipment.kind === 'inUse'
        ? words.inUse
        : words.profile(rule.equipment.profile),
  ].filter((note) => note !== null)
  return notes.length === 0 ? what : `${what} (${notes.join(', ')})`
}

/** How long evidence counts, in words; null: always. */
export function windowPhrase(window: Window, language: Language): string | null {
  const words = WORDS[language]
  switch (window.kind) {
    case 'always':
      return null
    case 'months':
      return words.months(window.months)
    case 'fixedDate':
      return words.until(window.until)
    case 'untilEndOfNextCycle':
      return words.nextCycle(window.cycleMonths, window.cycleStartsOn)
    case 'afterCycle':
      return words.afterCycle(window.plusMonths, window.cycleMonths, window.cycleStartsOn)
    case 'daysBeforeElection':
      return words.daysBefore(window.days)
    case 'monthsBeforeElection':
      return words.monthsBefore(window.months)
    case 'sameElection':
      return words.sameElection
    default:
      return unreachable(window)
  }
}

interface Words {
  and: string
  or: string
  atLeast(count: number): string
  score(fraction: number): string
  months(n: number): string
  until(date: CivilDate): string
  nextCycle(months: number, from: CivilDate): string
  afterCycle(plus: number, months: number, from: CivilDate): string
  daysBefore(days: number): string
  monthsBefore(months: number): string
  sameElection: string
  inUse: string
  profile(key: string): string
  fact: Record<EvidenceRule['fact'], (topic: string) => string>
}

const percent = (fraction: number) => `${Math.round(fraction * 1000) / 10} %`
const plural = (n: number, one: string, many: string) => `${n} ${n === 1 ? one : many}`

const WORDS: Record<Language, Words> = {
  en: {
    and: ', and ',
    or: ', or ',
    atLeast: (count) => `at least ${count} of these`,
    score: (fraction) => `with ${percent(fraction)} or more`,
    months: (n) => `counts ${plural(n, 'month', 'months')}`,
    until: (date) => `counts until ${date}`,
    nextCycle: (months, from) =>
      `counts to the end of the next cycle of ${plural(months, 'month', 'months')}, counted from ${from}`,
    afterCycle: (plus, months, from) =>
      `counts to ${plural(plus, 'month', 'months')} after the cycle of ${plural(months, 'month', 'months')}, counted from ${from}`,
    daysBefore: (days) => `not more than ${plural(days, 'day', 'days')} before the election`,
    monthsBefore: (months) => `within ${plural(months, 'month', 'months')} before the election`,
    sameElection: 'for this election',
    inUse: 'on equipment in use',
    profile: (key) => `on ${key}`,
    fact: {
      lessonFinished: (topic) => `Finish the lesson ${topic}`,
      quizPassed: (topic) => `Pass the quiz ${topic}`,
      checkOff: (topic) => `Be checked off in ${topic}`,
      classAttended: (topic) => `Attend the class ${topic}`,
      oathSworn: (topic) => `Swear the oath ${topic}`,
      served: (topic) => `Have served as ${topic}`,
      earlierTraining: (topic) => `Have been trained as ${topic} before`,
    },
  },
  es: {
    and: ', y ',
    or: ', o bien ',
    atLeast: (count) => `al menos ${count} de estos`,
    score: (fraction) => `con ${percent(fraction)} o más`,
    months: (n) => `vale ${plural(n, 'mes', 'meses')}`,
    until: (date) => `vale hasta el ${date}`,
    nextCycle: (months, from) =>
      `vale hasta el final del ciclo siguiente de ${plural(months, 'mes', 'meses')}, contado desde el ${from}`,
    afterCycle: (plus, months, from) =>
      `vale hasta ${plural(plus, 'mes', 'meses')} después del ciclo de ${plural(months, 'mes', 'meses')}, contado desde el ${from}`,
    daysBefore: (days) => `no más de ${plural(days, 'día', 'días')} antes de la elección`,
    monthsBefore: (months) => `dentro de ${plural(months, 'mes', 'meses')} antes de la elección`,
    sameElection: 'para esta elección',
    inUse: 'en equipo en uso',
    profile: (key) => `en ${key}`,
    fact: {
      lessonFinished: (topic) => `Termine la lección ${topic}`,
      quizPassed: (topic) => `Apruebe el examen ${topic}`,
      checkOff: (topic) => `Demuestre la tarea ${topic}`,
      classAttended: (topic) => `Asista a la clase ${topic}`,
      oathSworn: (topic) => `Preste el juramento ${topic}`,
      served: (topic) => `Haber servido como ${topic}`,
      earlierTraining: (topic) => `Haberse capacitado antes como ${topic}`,
    },
  },
}
