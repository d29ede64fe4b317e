import type { Locale, Wording } from '@/lib/kernel/wording'

export interface OfferValues {
  name: string
  election: string
  /** What is offered, one line a seat: day and hours, position, place. */
  seats: string[]
  answerBy: string
  link: string
  office: string
  phone: string
}
export interface OfferNoticeValues {
  'offer-made': OfferValues
  'offer-reminder': OfferValues
  'offer-withdrawn': Omit<OfferValues, 'answerBy'>
}

/** The link of an offer answers for the person, without signing in: whoever only looks after the sending sees the words
 *  without it. */
export const withoutAnswerLink = (body: string): string =>
  body.replace(/\S+\/offer\/[A-Za-z0-9_-]{43}/g, '(the link to answer is kept secret)')

const lines = (seats: readonly string[]) => seats.map((line) => `    ${line}`).join('\n\n')

const help = (phone: string, locale: Locale): string =>
  locale === 'es'
    ? `¿Preguntas? ${phone ? `Llame a la oficina electoral: ${phone}.` : 'Llame a la oficina electoral.'}`
    : `Questions? ${phone ? `Call the election office: ${phone}.` : 'Call the election office.'}`

const both = (write: (locale: Locale) => string): Wording => ({ en: write('en'), es: write('es') })

const letter = (v: OfferNoticeValues['offer-withdrawn'], opening: Wording, closing: Wording): Wording =>
  both(
    (locale) => `${locale === 'es' ? `${v.name}:` : `Dear ${v.name},`}

${opening[locale]}

${lines(v.seats)}

${closing[locale]}

    ${v.link}

${help(v.phone, locale)}

${v.office}`,
  )

export const OFFER_TEMPLATES = {
  'offer-made': {
    subject: (v: OfferValues) => ({
      en: `Will you work at the polls? ${v.election}`,
      es: `¿Trabajará en las elecciones? ${v.election}`,
    }),
    body: (v: OfferValues) =>
      letter(
        v,
        {
          en: `Thank you for helping voters. We would like you to work here (${v.election}):`,
          es: `Gracias por ayudar a los votantes. Nos gustaría que usted trabajara aquí (${v.election}):`,
        },
        {
          en: `Please answer by ${v.answerBy}. Say yes, say no, or ask for another place:`,
          es: `Responda a más tardar el ${v.answerBy}. Diga que sí, que no o pida otro lugar:`,
        },
      ),
  },
  'offer-reminder': {
    subject: (v: OfferValues) => ({
      en: `We have no answer from you yet. ${v.election}`,
      es: `Todavía no tenemos su respuesta. ${v.election}`,
    }),
    body: (v: OfferValues) =>
      letter(
        v,
        {
          en: 'We are keeping this work for you, and don’t know yet whether you will come:',
          es: 'Le guardamos este trabajo y todavía no sabemos si vendrá:',
        },
        {
          en: `Please answer by ${v.answerBy}:`,
          es: `Responda a más tardar el ${v.answerBy}:`,
        },
      ),
  },
  'offer-withdrawn': {
    subject: (v: OfferNoticeValues['offer-withdrawn']) => ({
      en: `A change to your work at the polls. ${v.election}`,
      es: `Un cambio en su trabajo en las elecciones. ${v.election}`,
    }),
    body: (v: OfferNoticeValues['offer-withdrawn']) =>
      letter(
        v,
        {
          en: 'The plan has changed. We no longer need you here:',
          es: 'El plan cambió. Ya no le necesitamos aquí:',
        },
        {
          en: 'Thank you for being ready to help. If we need you elsewhere, we write to you. What you are asked to do now is here:',
          es: 'Gracias por su disposición para ayudar. Si le necesitamos en otro lugar, le escribiremos. Lo que se le pide ahora está aquí:',
        },
      ),
  },
}
