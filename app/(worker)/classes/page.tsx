import { getTranslations } from 'next-intl/server'
import { Page } from '@/app/ui/frame'
import { Empty, Notice } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { listMyClasses } from '@/lib/classes/queries-classes'
import { orNotFound } from '@/lib/web/or-not-found'
import { preferences } from '@/lib/web/preferences'
import { ClassCard } from './class-facts'

export async function generateMetadata() {
  return { title: (await getTranslations('classes'))('title') }
}

export default async function ClassesPage({
  searchParams,
}: {
  searchParams: Promise<{ topic?: string | string[] }>
}) {
  const { topic } = await searchParams
  const actor = await requireActor('/classes')
  const { locale } = await preferences()
  const [t, classes] = await Promise.all([
    getTranslations('classes'),
    orNotFound(listMyClasses(actor, locale)),
  ])
  const mine = classes.filter((c) => c.mine && c.mine.state !== 'cancelled')
  const open = classes.filter((c) => !mine.includes(c) && (typeof topic !== 'string' || c.topic === topic))
  return (
    <Page title={t('title')} here="/path" narrow crumbs={<a href="/path">{t('toPath')}</a>}>
      <p className="lead">{t('lead')}</p>
      {mine.length > 0 && (
        <section aria-labelledby="mine">
          <h2 id="mine">{t('mine')}</h2>
          <ul className="plain-list">
            {mine.map((held) => (
              <ClassCard key={held.id} held={held} />
            ))}
          </ul>
        </section>
      )}
      <section aria-labelledby="open">
        <h2 id="open">{t('open')}</h2>
        {typeof topic === 'string' && (
          <Notice>
            <p>
              {t('forStep')} <a href="/classes">{t('showAll')}</a>
            </p>
          </Notice>
        )}
        {open.length === 0 ? (
          <Empty>
            <p>{t('openNone')}</p>
          </Empty>
        ) : (
          <ul className="plain-list">
            {open.map((held) => (
              <ClassCard key={held.id} held={held} />
            ))}
          </ul>
        )}
      </section>
    </Page>
  )
}
