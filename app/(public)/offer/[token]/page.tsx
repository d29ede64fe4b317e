import { getTranslations } from 'next-intl/server'
import { OfferList } from '@/app/(worker)/offers/offer-list'
import { Page } from '@/app/ui/frame'
import { getOffersByLink } from '@/lib/offers/queries-mine'
import { orNotFound } from '@/lib/web/or-not-found'
import { preferences } from '@/lib/web/preferences'
import { answerByLinkAction } from './actions'
import '@/app/(worker)/worker.css'

export async function generateMetadata() {
  return {
    title: (await getTranslations('offers'))('title'),
    // The address is a key: it is told to no other site and kept in no search. (Without any referrer browsers would
    // send our own forms as if from nowhere, and they would be refused.)
    referrer: 'same-origin' as const,
    robots: { index: false, follow: false },
  }
}

export default async function OfferByLink({
  params,
  searchParams,
}: {
  params: Promise<{ token: string }>
  searchParams: Promise<{ said?: string }>
}) {
  const [{ token }, { said }] = await Promise.all([params, searchParams])
  const { locale } = await preferences()
  const [t, { offers }] = await Promise.all([
    getTranslations('offers'),
    orNotFound(getOffersByLink(token, locale)),
  ])
  return (
    <Page title={t('title')} narrow>
      <p className="lead">{t('byLink')}</p>
      <OfferList
        offers={offers}
        locale={locale}
        door={{ action: answerByLinkAction, token }}
        calendarOf={(offer) => `/offer/${token}/${offer.id}/work.ics`}
        said={said}
      />
      <p className="quiet">
        {t('more')} <a href="/sign-in?next=/offers">{t('signIn')}</a>
      </p>
    </Page>
  )
}
