import type { Locale, Wording } from '@/lib/kernel/wording'

/** What every message about a class says of it. */
export interface ClassValues {
  name: string
  title: string
  when: string
  place: string
  trainer: string
  note: string
  link: string
  office: string
}
export interface ClassNoticeValues {
  'class-booked': ClassValues
  'class-waiting': ClassValues & { place: number }
  'class-seat-free': ClassValues
  'class-changed': ClassValues
  'class-cancelled': ClassValues
  'class-reminder': ClassValues
}

const facts = (v: ClassValues, locale: Locale): string =>
  [
    v.title,
    v.when,
    v.place,
    locale === 'es' ? `Instructor: ${v.trainer}` : `Trainer: ${v.trainer}`,
    ...(v.note ? [v.note] : []),
  ]
    .map((line) => `    ${line}`)
    .join('\n')

type Parts = { subject: Wording; opening: Wording; closing: Wording }

const HELP: Wording = {
  en: 'If you can’t come, please say so, so that somebody else gets the seat:',
  es: 'Si no puede venir, avísenos para que otra persona tenga el lugar:',
}

const PARTS: { [K in keyof ClassNoticeValues]: (v: ClassNoticeValues[K]) => Parts } = {
  'class-booked': () => ({
    subject: { en: 'Your seat in the class', es: 'Su lugar en la clase' },
    opening: { en: 'You have a seat in this class:', es: 'Tiene un lugar en esta clase:' },
    closing: HELP,
  }),
  'class-waiting': ({ place }) => ({
    subject: { en: 'You are on the waiting list', es: 'Está en la lista de espera' },
    opening: {
      en: `This class is full. You are number ${place} on the waiting list. We write to you when a seat is free.`,
      es: `Esta clase está llena. Usted es el número ${place} de la lista de espera. Le escribiremos cuando haya un lugar.`,
    },
    closing: { en: 'See it, or leave the list:', es: 'Véala o salga de la lista:' },
  }),
  'class-seat-free': () => ({
    subject: { en: 'A seat is free: you are in the class', es: 'Hay un lugar: está en la clase' },
    opening: {
      en: 'A seat became free, and it is yours:',
      es: 'Quedó un lugar libre y es suyo:',
    },
    closing: HELP,
  }),
  'class-changed': () => ({
    subject: { en: 'Your class has changed', es: 'Su clase cambió' },
    opening: {
      en: 'Something about your class has changed. This is how it stands now:',
      es: 'Algo de su clase cambió. Ahora es así:',
    },
    closing: HELP,
  }),
  'class-cancelled': () => ({
    subject: { en: 'Your class is cancelled', es: 'Su clase se canceló' },
    opening: { en: 'This class will not take place:', es: 'Esta clase no se dará:' },
    closing: { en: 'Please choose another date:', es: 'Elija otra fecha:' },
  }),
  'class-reminder': () => ({
    subject: { en: 'Your class is soon', es: 'Su clase es pronto' },
    opening: { en: 'We look forward to seeing you in this class:', es: 'Le esperamos en esta clase:' },
    closing: HELP,
  }),
}

const template =
  <K extends keyof ClassNoticeValues>(kind: K) =>
  (v: ClassNoticeValues[K]): { subject: Wording; body: Wording } => {
    const { subject, opening, closing } = PARTS[kind](v)
    const body = (locale: Locale) =>
      `${locale === 'es' ? `${v.name}:` : `Dear ${v.name},`}

${opening[locale]}

${facts(v, locale)}

${closing[locale]}

    ${v.link}

${v.office}`
    return { subject, body: { en: body('en'), es: body('es') } }
  }

const made = <K extends keyof ClassNoticeValues>(kind: K) => ({
  subject: (v: ClassNoticeValues[K]) => template(kind)(v).subject,
  body: (v: ClassNoticeValues[K]) => template(kind)(v).body,
})

export const CLASS_TEMPLATES = {
  'class-booked': made('class-booked'),
  'class-waiting': made('class-waiting'),
  'class-seat-free': made('class-seat-free'),
  'class-changed': made('class-changed'),
  'class-cancelled': made('class-cancelled'),
  'class-reminder': made('class-reminder'),
}
