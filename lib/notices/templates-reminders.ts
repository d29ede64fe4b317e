import type { Locale, Wording } from '@/lib/kernel/wording'

/** Certificates that end before an election day, for mail and letter alike; dates and names are in the reader's
 *  language already. */
export interface LapseValues {
  name: string
  election: string
  electionDate: string
  /** 'Check-in: through March 3, 2027'. */
  certificates: string[]
  /** What is to be done again, as on the path; empty: the path says it. */
  todo: string[]
  link: string
  office: string
  /** The office's phone; '' where the county has not entered one. */
  phone: string
}
export interface ReminderNoticeValues {
  'certificate-lapses': LapseValues
}

const list = (lines: readonly string[]) => lines.map((line) => `    - ${line}`).join('\n')

const body = (v: LapseValues, locale: Locale): string =>
  locale === 'es'
    ? `${v.name}:

Gracias por trabajar en las urnas. Lo que sigue termina antes de ${v.election}, el ${v.electionDate}:

${list(v.certificates)}

Ya puede renovarlo.${
        v.todo.length > 0
          ? ` Esto es lo que falta:

${list(v.todo)}`
          : ''
      }

Su camino le muestra cada paso, y ahí reserva su lugar en una clase:

    ${v.link}

Si ya no quiere trabajar en esta elección, avísenos. Si algo no es correcto, llámenos${v.phone && ` al ${v.phone}`}.

${v.office}`
    : `Dear ${v.name},

Thank you for working at the polls. What follows ends before ${v.election} on ${v.electionDate}:

${list(v.certificates)}

You can renew it now.${
        v.todo.length > 0
          ? ` This is what is missing:

${list(v.todo)}`
          : ''
      }

Your path shows you every step, and there you book a seat in a class:

    ${v.link}

If you no longer wish to work at this election, please tell us. If something here is wrong, please call us${v.phone && ` at ${v.phone}`}.

${v.office}`

const subject: Wording = {
  en: 'Please renew before election day',
  es: 'Renueve antes del día de la elección',
}

export const REMINDER_TEMPLATES = {
  'certificate-lapses': {
    subject: () => subject,
    body: (v: LapseValues): Wording => ({ en: body(v, 'en'), es: body(v, 'es') }),
  },
}
