/** Texts: all there, in each language, readable, with explanations and sources. */
import type { Scenario, Step } from '../../schema'
import { readingGrade } from '../reading-grade'
import { fillText, fragmentsIn, textKeys } from '../texts'
import { LOCALES } from '../words'
import { type Finding, finding, type Rule } from './finding'

export const translationsRule: Rule = {
  name: 'translations',
  description: 'Every text exists in every language, no text is left over, fragments agree.',
  check({ scenario, options }) {
    const out: Finding[] = []
    const keys = textKeys(scenario)
    const known = new Set(keys.map((k) => k.key))
    for (const locale of LOCALES) {
      const texts = scenario.texts[locale]
      for (const { key, optional } of keys) {
        if (texts[key]?.trim()) continue
        const elsewhere = LOCALES.some((l) => scenario.texts[l][key]?.trim())
        if (optional && !elsewhere) continue
        out.push(
          finding(
            'translations',
            'error',
            `texts.${locale}.${key}`,
            'no text',
            'a text',
            'Write it, in this language too.',
          ),
        )
      }
      for (const [key, text] of Object.entries(texts)) {
        if (!known.has(key))
          out.push(
            finding(
              'translations',
              'error',
              `texts.${locale}.${key}`,
              'a text that nothing uses',
              'a key of the structure',
              'Mend the key or take the text out; names are in AUTHORING.md.',
            ),
          )
        for (const fragment of fragmentsIn(text))
          for (const profile of options.profiles)
            if (profile.fragments[locale][fragment] === undefined)
              out.push(
                finding(
                  'translations',
                  'error',
                  `texts.${locale}.${key}`,
                  `{{profile:${fragment}}}`,
                  `a fragment of ${profile.id}`,
                  `There are: ${Object.keys(profile.fragments[locale]).join(', ')}.`,
                ),
              )
        if (/\{\{(?!profile:[a-z0-9.-]+\}\})/.test(text))
          out.push(
            finding(
              'translations',
              'error',
              `texts.${locale}.${key}`,
              'braces that are no fragment',
              '{{profile:key}}',
              'Write fragments exactly so.',
            ),
          )
      }
    }
    for (const { key } of keys) {
      const { en, es } = { en: scenario.texts.en[key], es: scenario.texts.es[key] }
      if (en === undefined || es === undefined) continue
      const used = (text: string) => [...new Set(fragmentsIn(text))].sort().join(', ') || 'none'
      if (used(en) !== used(es))
        out.push(
          finding(
            'translations',
            'error',
            `texts.es.${key}`,
            `fragments: ${used(es)}`,
            `as in English: ${used(en)}`,
            'Both languages take the same words from the equipment.',
          ),
        )
      if (en === es && en.split(/\s+/).length >= 4)
        out.push(
          finding(
            'translations',
            'warning',
            `texts.es.${key}`,
            'the English text',
            'Spanish',
            'Translate it.',
          ),
        )
    }
    return out
  },
}

/** Shorter texts say too little about a reader's effort to be measured alone. */
const WORDS_TO_MEASURE = 25

export const readingRule: Rule = {
  name: 'reading-grade',
  description:
    'English texts read at or below the limit (Flesch–Kincaid); texts under 25 words are measured together, step by step.',
  check({ scenario, options }) {
    const out: Finding[] = []
    const limit = options.gradeLimit
    const groups = new Map<string, string[]>()
    const measure = (path: string, texts: string[]) => {
      const profiles = options.profiles.length > 0 ? options.profiles : [null]
      const grades = profiles.map((p) => {
        const filled = texts.map((t) => (p ? fillText(t, p, 'en') : t)).join('\n')
        return { filled, grade: readingGrade(filled) }
      })
      const worst = grades.reduce((a, b) => ((b.grade?.grade ?? -99) > (a.grade?.grade ?? -99) ? b : a))
      if (!worst.grade || worst.grade.grade <= limit) return
      out.push(
        finding(
          'reading-grade',
          'error',
          path,
          `grade ${worst.grade.grade.toFixed(1)} (${worst.grade.words} words, ${worst.grade.sentences} sentences, ${worst.grade.syllables} syllables)`,
          `at most ${limit}`,
          'Split long sentences; take shorter words.',
        ),
      )
    }
    for (const { key, step } of textKeys(scenario)) {
      const text = scenario.texts.en[key]
      if (!text || key.endsWith('.title')) continue
      if (text.split(/\s+/).length >= WORDS_TO_MEASURE) measure(`texts.en.${key}`, [text])
      else {
        const group = step ?? key.split('.')[0]!
        groups.set(group, [...(groups.get(group) ?? []), text])
      }
    }
    for (const [group, texts] of groups) measure(`texts.en.${group}.* (short texts together)`, texts)
    return out
  },
}

interface Judged {
  path: string
  why: string
  critical: boolean
  source: string | undefined
}

function judgedIn(step: Step): Judged[] {
  const of = (
    part: string,
    id: string,
    judged: { judgement?: string | undefined; source?: string | undefined },
  ): Judged => ({
    path: `steps.${step.id}.${part}`,
    why: `${step.id}.${id}.why`,
    critical: judged.judgement === 'critical',
    source: judged.source,
  })
  switch (step.kind) {
    case 'decide':
      return step.options.filter((o) => o.judgement).map((o) => of(`options.${o.id}`, o.id, o))
    case 'operate':
      return [
        ...step.watch.map((w) => of(`watch.${w.id}`, w.id, w)),
        ...step.outcomes.map((o) => of(`outcomes.${o.id}`, o.id, o)),
        of('help', 'help', step.help),
      ]
    case 'spot':
      return [
        { path: `steps.${step.id}`, why: `${step.id}.why`, critical: false, source: step.source },
        ...step.things
          .filter((t) => t.critical)
          .map((t) => ({
            path: `steps.${step.id}.things.${t.id}`,
            why: `${step.id}.${t.id}.why`,
            critical: true,
            source: step.source,
          })),
      ]
    case 'order':
      return [
        {
          path: `steps.${step.id}`,
          why: `${step.id}.why`,
          critical: step.critical.length > 0,
          source: step.source,
        },
      ]
    case 'end':
      return []
  }
}

const WORDS_THAT_EXPLAIN = 8

export const explanationsRule: Rule = {
  name: 'explanations',
  description: 'Every judged thing has a source and an explanation; a critical one is really explained.',
  check({ scenario }) {
    const out: Finding[] = []
    for (const judged of scenario.steps.flatMap(judgedIn)) {
      if (!judged.source)
        out.push(
          finding(
            'explanations',
            'error',
            judged.path,
            'no source',
            'a source',
            'Cite it, or say common-practice or county-procedure.',
          ),
        )
      for (const locale of LOCALES) {
        const words = scenario.texts[locale][judged.why]?.split(/\s+/).length ?? 0
        if (judged.critical && words > 0 && words < WORDS_THAT_EXPLAIN)
          out.push(
            finding(
              'explanations',
              'error',
              `texts.${locale}.${judged.why}`,
              `${words} words on a critical mistake`,
              `at least ${WORDS_THAT_EXPLAIN}`,
              'Say what could happen to the voter or the count, and what to do.',
            ),
          )
      }
    }
    return out
  },
}

export const lengthRule: Rule = {
  name: 'option-length',
  description: 'The longest option is not always the sound one.',
  check({ scenario }) {
    const decisions = scenario.steps.filter((s) => s.kind === 'decide' && s.options.length > 1)
    const longest = decisions.filter((step) => {
      if (step.kind !== 'decide') return false
      const length = (id: string) => scenario.texts.en[`${step.id}.${id}`]?.length ?? 0
      const top = [...step.options].sort((a, b) => length(b.id) - length(a.id))[0]!
      return top.judgement === 'sound'
    })
    return decisions.length >= 4 && longest.length > 0.75 * decisions.length
      ? [
          finding(
            'option-length',
            'warning',
            'texts.en',
            `the sound option is the longest in ${longest.length} of ${decisions.length} decisions`,
            'at most three quarters',
            'Shorten good answers or give the others more substance.',
          ),
        ]
      : []
  },
}

const LONG_TEXT_WORDS = 75
const LONG_OPTION_WORDS = 32

export const brevityRule: Rule = {
  name: 'brevity',
  description: 'One screen of a phone holds a step.',
  check({ scenario }) {
    const out: Finding[] = []
    const count = (key: string) => scenario.texts.en[key]?.split(/\s+/).length ?? 0
    for (const step of scenario.steps) {
      if (count(`${step.id}.text`) > LONG_TEXT_WORDS)
        out.push(
          finding(
            'brevity',
            'warning',
            `texts.en.${step.id}.text`,
            `${count(`${step.id}.text`)} words`,
            `at most ${LONG_TEXT_WORDS}`,
            'Cut it, or tell it in two steps.',
          ),
        )
      if (step.kind !== 'decide') continue
      for (const option of step.options)
        if (count(`${step.id}.${option.id}`) > LONG_OPTION_WORDS)
          out.push(
            finding(
              'brevity',
              'warning',
              `texts.en.${step.id}.${option.id}`,
              `${count(`${step.id}.${option.id}`)} words`,
              `at most ${LONG_OPTION_WORDS}`,
              'An option should be read at a glance.',
            ),
          )
    }
    return out
  },
}

export const textRules: readonly Rule[] = [
  translationsRule,
  readingRule,
  explanationsRule,
  lengthRule,
  brevityRule,
]

/** Grade of a whole lesson's English, for the report. */
export const lessonGrade = (scenario: Scenario) => readingGrade(Object.values(scenario.texts.en).join('\n'))
