import type { Wording } from '@/lib/kernel/wording'

export interface PlaceNoticeValues {
  'place-moved': {
    name: string
    /** The person's work, one line each, in the language of the message. */
    work: string
    from: string
    to: string
    reason: string
    office: string
  }
}

export const PLACE_TEMPLATES = {
  'place-moved': {
    subject: (): Wording => ({
      en: 'Your polling place has moved',
      es: 'Su lugar de votación cambió de dirección',
    }),
    body: ({ name, work, from, to, reason, office }: PlaceNoticeValues['place-moved']): Wording => ({
      en: `Dear ${name},

The polling place where you work has moved. Please go to the new address:

    ${to}

It is no longer at ${from}.
Why: ${reason}

Your work stays the same:

${work}

If you can't get to the new place, call the election office now.

${office}`,
      es: `${name}:

El lugar de votación donde usted trabaja cambió de dirección. Vaya por favor a la nueva dirección:

    ${to}

Ya no está en ${from}.
Motivo (en inglés si la oficina lo escribió así): ${reason}

Su trabajo sigue igual:

${work}

Si no puede llegar al nuevo lugar, llame ahora a la oficina electoral.

${office}`,
    }),
  },
}
