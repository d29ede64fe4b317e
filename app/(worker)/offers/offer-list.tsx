import { getTranslations } from 'next-intl/server'
import { Empty, Notice } from '@/app/ui/notice'
import type { Locale } from '@/lib/kernel/wording'
import type { MyOffer } from '@/lib/offers/queries-mine'
import { type AnswerDoor, AnswerForm, OfferCard } from './offer-card'

const SAID = ['accepted', 'declined', 'askedElsewhere'] as const

/** Everything offered to one person, what waits for an answer first. */
export async function OfferList({
  offers,
  locale,
  door,
  calendarOf,
  said,
}: {
  offers: MyOffer[]
  locale: Locale
  door: AnswerDoor
  calendarOf: (offer: MyOffer) => string
  said: string | undefined
}) {
  const t = await getTranslations('offers')
  const waiting = offers.filter((o) => o.may.accept && o.state !== 'asked')
  const known = SAID.find((s) => s === said)
  const isOver = (o: MyOffer) => o.state === 'declined' || o.state === 'withdrawn'
  return (
    <>
      {known && (
        <div role="status">
          <Notice kind="good">
            <p>{t(`said.${known}`)}</p>
          </Notice>
        </div>
      )}
      {offers.length === 0 && (
        <Empty>
          <p>{t('none')}</p>
        </Empty>
      )}
      {waiting.length > 1 && (
        <section className="panel next-step" aria-labelledby="all">
          <h2 id="all">{t('allTitle', { n: waiting.length })}</h2>
          <ul>
            {waiting.map((o) => (
              <li key={o.id}>
                {o.when}: {o.position}, {o.place.name}
              </li>
            ))}
          </ul>
          <AnswerForm door={door} offers={waiting} answer="accepted">
            <button type="submit" data-kind="main" className="wide">
              {t('acceptAll', { n: waiting.length })}
            </button>
          </AnswerForm>
          <p className="small quiet">{t('orEach')}</p>
        </section>
      )}
      {[...offers.filter((o) => !isOver(o)), ...offers.filter(isOver)].map((offer) => (
        <OfferCard
          key={offer.id}
          offer={offer}
          locale={locale}
          door={door}
          calendarHref={calendarOf(offer)}
        />
      ))}
    </>
  )
}
