'use client'
import { useOutcome } from '@/app/ui/action-form'

interface Card {
  code: string
  name: string
  validUntil: string
  locale: string
  picture: string
}

const TEXT = {
  en: {
    title: 'Your sign-in card',
    how: 'Point your phone’s camera at the square and press “Sign in with my card”. Or open the address below and type this code.',
    square: 'QR code that opens the sign-in page with this card’s code',
    until: (day: string) => `It works until ${day}. Keep it like a key: whoever has it can sign in as you.`,
    lost: 'Lost it? Tell the election office; they end it and print another.',
  },
  es: {
    title: 'Su tarjeta de acceso',
    how: 'Apunte la cámara del teléfono al cuadro y pulse «Entrar con mi tarjeta». O abra la dirección de abajo y escriba este código.',
    square: 'Código QR que abre la página de acceso con el código de esta tarjeta',
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
      {/* biome-ignore lint/performance/noImgElement: a data address, nothing to optimise */}
      <img className="card-square" src={card.picture} alt={text.square} />
      <p>{text.how}</p>
      <p>
        <b>{address}</b>
      </p>
      <p>{text.until(day)}</p>
      <p className="quiet">{text.lost}</p>
    </section>
  )
}
