import { getTranslations } from 'next-intl/server'
import { Page } from '@/app/ui/frame'
import { requireActor } from '@/lib/auth/session'
import { getMyOffers } from '@/lib/offers/queries-mine'
import { orNotFound } from '@/lib/web/or-not-found'
import { preferences } from '@/lib/web/preferences'
import { answerOffersAction } from './actions'
import { OfferList } from './offer-list'

export async function generateMetadata() {
  return { title: (await getTranslations('offers'))('title') }
}

export default async function MyOffersPage({ searchParams }: { searchParams: Promise<{ said?: string }> }) {
  const { said } = await searchParams
  const actor = await requireActor('/offers')
  const { locale } = await preferences()
  const [t, { offers }] = await Promise.all([
    getTranslations('offers'),
    orNotFound(getMyOffers(actor, locale)),
  ])
  return (
    <Page title={t('title')} here="/path" narrow crumbs={<a href="/path">{t('toPath')}</a>}>
      <OfferList
        offers={offers}
        locale={locale}
        door={{ action: answerOffersAction, token: null }}
        calendarOf={(offer) => `/offers/${offer.id}/work.ics`}
        said={said}
      />
    </Page>
  )
}
