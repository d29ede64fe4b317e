'use client'
import { useOutcome } from '@/app/ui/action-form'

interface Card {
  code: string
  name: string
  validUntil: string
  locale: string
}

const TEXT = {
  en: {
    title: 'Your sign-in card',
    how: 'Open the address below, choose “I have a card”, and type this code.',
    until: (day: string) => `It works until ${day}. Keep it like a key: whoever has it can sign in as you.`,
    lost: 'Lost it? Tell the election office; they end it and print another.',
  },
  es: {
    title: 'Su tarjeta de acceso',
    how: 'Abra la dirección de abajo, elija «Tengo una tarjeta» y escriba este código.',
    until: (day: string) =>
      `Funciona hasta el ${day}. Guárdela como una llave: quien la tenga puede entrar como usted.`,
    lost: '¿La perdió? Avise a la oficina electoral: la anulan e imprimen otra.',
  },
}

/** The card as it was just made, in the person's language: shown this once. Before there is one: the button. */
export function CardSheet({ address }: { address: string }) {
  const outcome = useOutcome()
  const card = outcome.status === 'done' ? (outcome.value as Card) : null
  if (!card)
    return (
      <button type="submit" data-kind="main">
        Make a new card
      </button>
    )
  const locale = card.locale === 'es' ? 'es' : 'en'
  const text = TEXT[locale]
  const day = new Intl.DateTimeFormat(locale === 'es' ? 'es-US' : 'en-US', {
    dateStyle: 'long',
    timeZone: 'UTC',
  }).format(new Date(`${card.validUntil}T00:00:00Z`))
  return (
    <section className="panel" lang={locale} aria-label={text.title} aria-live="polite">
      <h2>{text.title}</h2>
      <p>{card.name}</p>
      <p className="card-code">{card.code}</p>
      <p>{text.how}</p>
      <p>
        <b>{address}</b>
      </p>
      <p>{text.until(day)}</p>
      <p className="quiet">{text.lost}</p>
    </section>
  )
}
