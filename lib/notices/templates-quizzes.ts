import type { Wording } from '@/lib/kernel/wording'

/** What every message about a quiz says of it. */
interface QuizValues {
  name: string
  quiz: string
  link: string
  office: string
  why: string
}
interface Verdict {
  /** 0 to 1. */
  scoreFraction: number
  passed: boolean
}
export interface QuizNoticeValues {
  'quiz-result-changed': QuizValues & { before: Verdict; after: Verdict }
  'appeal-decided': QuizValues & { upheld: boolean }
}

const percent = ({ scoreFraction }: Verdict) => Math.floor(scoreFraction * 100 + 1e-9)

/** What the change means for the person, in a sentence. */
const meaning = (before: Verdict, after: Verdict): Wording => {
  if (!before.passed && after.passed)
    return {
      en: 'With the new score you passed. There is nothing more to do for this quiz.',
      es: 'Con el nuevo resultado usted aprobó. No tiene que hacer nada más para este examen.',
    }
  if (before.passed && !after.passed)
    return {
      en: 'With the new score the quiz is not passed any more. Your certificate may have changed. Please open the page below, or call us.',
      es: 'Con el nuevo resultado el examen ya no está aprobado. Su certificado puede haber cambiado. Abra la página de abajo o llámenos.',
    }
  return after.passed
    ? { en: 'You passed before, and you still do.', es: 'Usted ya había aprobado, y sigue aprobado.' }
    : { en: 'The quiz is still not passed.', es: 'El examen sigue sin aprobarse.' }
}

export const QUIZ_TEMPLATES: {
  [K in keyof QuizNoticeValues]: {
    subject: (values: QuizNoticeValues[K]) => Wording
    body: (values: QuizNoticeValues[K]) => Wording
  }
} = {
  'quiz-result-changed': {
    subject: () => ({ en: 'Your quiz has a new result', es: 'Su examen tiene un nuevo resultado' }),
    body: ({ name, quiz, link, office, why, before, after }) => ({
      en: `${name},

a question of the quiz “${quiz}” was faulty. We corrected it for everybody who had it.

    Before: ${percent(before)} percent
    Now: ${percent(after)} percent

${meaning(before, after).en}

What was wrong: ${why}

See your result:

    ${link}

${office}`,
      es: `${name}:

Una pregunta del examen «${quiz}» tenía un error. La corregimos para todas las personas que la tuvieron.

    Antes: ${percent(before)} por ciento
    Ahora: ${percent(after)} por ciento

${meaning(before, after).es}

Qué estaba mal: ${why}

Vea su resultado:

    ${link}

${office}`,
    }),
  },
  'appeal-decided': {
    subject: () => ({ en: 'We looked at the question', es: 'Revisamos la pregunta' }),
    body: ({ name, quiz, link, office, why, upheld }) => ({
      en: `${name},

you told us that a question of the quiz “${quiz}” is wrong. We looked at it.

${upheld ? 'You were right, and it was corrected for everybody. Your own result stays the same.' : 'The question stands as it is.'}
${why}

See your result:

    ${link}

${office}`,
      es: `${name}:

Usted nos dijo que una pregunta del examen «${quiz}» está mal. La revisamos.

${upheld ? 'Usted tenía razón, y se corrigió para todas las personas. Su propio resultado no cambia.' : 'La pregunta queda como está.'}
${why}

Vea su resultado:

    ${link}

${office}`,
    }),
  },
}
