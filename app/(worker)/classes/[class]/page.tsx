import { getTranslations } from 'next-intl/server'
import { ActionForm } from '@/app/ui/action-form'
import { Page } from '@/app/ui/frame'
import { Notice } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getMyClassOrThrow } from '@/lib/classes/queries-classes'
import { orNotFound } from '@/lib/web/or-not-found'
import { preferences } from '@/lib/web/preferences'
import { bookClassAction, giveUpAction } from '../actions'
import { MyState } from '../class-facts'

export async function generateMetadata() {
  return { title: (await getTranslations('classes'))('title') }
}

export default async function ClassPage({
  params,
  searchParams,
}: {
  params: Promise<{ class: string }>
  searchParams: Promise<{ said?: string }>
}) {
  const [{ class: id }, { said }] = await Promise.all([params, searchParams])
  const actor = await requireActor(`/classes/${id}`)
  const { locale } = await preferences()
  const [t, held] = await Promise.all([
    getTranslations('classes'),
    orNotFound(getMyClassOrThrow(actor, id, locale)),
  ])
  const booked = held.mine?.state === 'seat' || held.mine?.state === 'waiting'
  return (
    <Page title={held.title} here="/path" narrow crumbs={<a href="/classes">{t('back')}</a>}>
      {said === 'given-up' && !booked && (
        <div role="status">
          <Notice>
            <p>{t('givenUp')}</p>
          </Notice>
        </div>
      )}
      {held.state !== 'open' && (
        <Notice kind={held.state === 'cancelled' ? 'bad' : 'warn'}>
          <p>{t(`classState.${held.state}`)}</p>
        </Notice>
      )}
      {held.mine && held.state !== 'cancelled' && (
        <Notice kind={booked || held.mine.state === 'attended' ? 'good' : 'info'}>
          <p>
            <MyState mine={held.mine} />
          </p>
          {held.state === 'open' && held.mine.state === 'seat' && (
            <p>
              {t('booked')} {t('bring')}
            </p>
          )}
          {held.state === 'open' && held.mine.state === 'waiting' && <p>{t('nowWaiting')}</p>}
          {held.mine.state === 'noShow' && <p>{t('wrongMark')}</p>}
        </Notice>
      )}
      <section className="panel">
        <dl className="told">
          <dt>{t('when')}</dt>
          <dd>{held.when}</dd>
          <dt>{t('where')}</dt>
          <dd>
            {held.placeName}
            <br />
            {held.placeAddress}
          </dd>
          <dt>{t('trainer')}</dt>
          <dd>{held.trainerName}</dd>
          <dt>{t('language')}</dt>
          <dd>{t(`heldIn.${held.locale}`)}</dd>
          <dt>{t('forWhom')}</dt>
          <dd>{held.forPosition ?? t('forAll')}</dd>
          {held.state === 'open' && (
            <>
              <dt>{t('seats')}</dt>
              <dd>{t('seatsLeft', { n: held.seatsLeft })}</dd>
            </>
          )}
          {held.note && (
            <>
              <dt>{t('note')}</dt>
              <dd>{held.note}</dd>
            </>
          )}
        </dl>
      </section>
      {held.state === 'open' && !booked && (
        <ActionForm action={bookClassAction}>
          <input type="hidden" name="classId" value={held.id} />
          <button type="submit" data-kind="main" className="wide">
            {t(held.seatsLeft > 0 ? 'book' : 'join')}
          </button>
        </ActionForm>
      )}
      {booked && held.state === 'open' && (
        <>
          <p>
            <a className="button wide" data-kind="main" href={`/classes/${held.id}/class.ics`} download>
              {t('calendar')}
            </a>
          </p>
          <p className="small quiet">{t('calendarWhy')}</p>
          <ActionForm action={giveUpAction}>
            <input type="hidden" name="classId" value={held.id} />
            <button type="submit" className="wide">
              {t(held.mine?.state === 'waiting' ? 'leave' : 'giveUp')}
            </button>
          </ActionForm>
        </>
      )}
    </Page>
  )
}
