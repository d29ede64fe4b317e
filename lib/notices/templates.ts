import type { Locale, Wording } from '@/lib/kernel/wording'
import { CLASS_TEMPLATES, type ClassNoticeValues } from './templates-classes'
import { OFFER_TEMPLATES, type OfferNoticeValues } from './templates-offers'
import { PLACE_TEMPLATES, type PlaceNoticeValues } from './templates-places'
import { QUIZ_TEMPLATES, type QuizNoticeValues } from './templates-quizzes'
import { REMINDER_TEMPLATES, type ReminderNoticeValues } from './templates-reminders'

/** Every kind of message with the values that it needs. Bodies are plain text: read anywhere, nothing hidden in it. */
export interface NoticeValues
  extends ClassNoticeValues,
    OfferNoticeValues,
    ReminderNoticeValues,
    PlaceNoticeValues,
    QuizNoticeValues {
  'sign-in-code': { code: string; minutes: number; office: string }
  'account-created': { name: string; address: string; office: string }
  'card-printed': { name: string; validUntil: string; office: string }
  'correction-answered': { name: string; answer: string; office: string }
}
export type NoticeKind = keyof NoticeValues

/** Kinds whose body opens something: blanked once it was sent, hidden from pages where mail is really sent. */
export const SECRET_KINDS: ReadonlySet<string> = new Set<NoticeKind>(['sign-in-code'])

/** Kinds that nobody waits for at the screen: they keep a county's quiet hours. */
export const WAITING_KINDS: ReadonlySet<string> = new Set<NoticeKind>([
  'class-seat-free',
  'class-changed',
  'class-cancelled',
  'class-reminder',
  'certificate-lapses',
  'offer-made',
  'offer-reminder',
  'offer-withdrawn',
  'quiz-result-changed',
  'appeal-decided',
  'correction-answered',
])

type Template<V> = { subject: (values: V) => Wording; body: (values: V) => Wording }

const TEMPLATES: { [K in NoticeKind]: Template<NoticeValues[K]> } = {
  ...CLASS_TEMPLATES,
  ...PLACE_TEMPLATES,
  ...REMINDER_TEMPLATES,
  ...QUIZ_TEMPLATES,
  ...OFFER_TEMPLATES,
  'correction-answered': {
    subject: () => ({ en: 'You asked for a correction', es: 'Usted pidió una corrección' }),
    body: ({ name, answer, office }) => ({
      en: `Dear ${name},

You told us that something about you was wrong. Our answer:

    ${answer}

On your page “Everything about me” you can see what is kept now.

${office}`,
      es: `${name}:

Usted nos dijo que algún dato suyo estaba mal. Nuestra respuesta (en inglés si la oficina la escribió así):

    ${answer}

En su página «Todo sobre mí» puede ver lo que se guarda ahora.

${office}`,
    }),
  },
  'sign-in-code': {
    subject: () => ({ en: 'Your sign-in code', es: 'Su código para entrar' }),
    body: ({ code, minutes, office }) => ({
      en: `Your code is:

    ${code}

Type it on the page where you asked for it. It works once, for ${minutes} minutes.
Nobody from our office will ever ask you for this code. If you didn't ask for it, do nothing.

${office}`,
      es: `Su código es:

    ${code}

Escríbalo en la página donde lo pidió. Sirve una sola vez, durante ${minutes} minutos.
Nadie de nuestra oficina le pedirá nunca este código. Si usted no lo pidió, no haga nada.

${office}`,
    }),
  },
  'account-created': {
    subject: () => ({ en: 'You can sign in now', es: 'Ya puede entrar' }),
    body: ({ name, address, office }) => ({
      en: `Dear ${name},

An account was made for you. Sign in here:

    ${address}

Your administrator gives you your first password. Change it after you have signed in.

${office}`,
      es: `${name}:

Se creó una cuenta para usted. Entre aquí:

    ${address}

La administración le da su primera contraseña. Cámbiela después de entrar.

${office}`,
    }),
  },
  'card-printed': {
    subject: () => ({
      en: 'A new sign-in card was printed for you',
      es: 'Se imprimió una tarjeta nueva para usted',
    }),
    body: ({ name, validUntil, office }) => ({
      en: `Dear ${name},

A new sign-in card was printed for you. It works until ${validUntil}. Your earlier card no longer works.
If you didn't expect this, call the election office.

${office}`,
      es: `${name}:

Se imprimió una tarjeta nueva para que usted entre. Sirve hasta el ${validUntil}. Su tarjeta anterior ya no sirve.
Si no la esperaba, llame a la oficina electoral.

${office}`,
    }),
  },
}

/** Subject and body of a message in one language. */
export function wordNotice<K extends NoticeKind>(
  kind: K,
  values: NoticeValues[K],
  locale: Locale,
): { subject: string; body: string } {
  const template = TEMPLATES[kind]
  return { subject: template.subject(values)[locale], body: template.body(values)[locale] }
}
