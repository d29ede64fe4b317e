import { getTranslations } from 'next-intl/server'
import { Page } from '@/app/ui/frame'
import { Empty, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { dateInWords } from '@/lib/kernel/date-words'
import { getMyCertificatesOrThrow } from '@/lib/path/queries-certificates'
import { orNotFound } from '@/lib/web/or-not-found'
import { preferences } from '@/lib/web/preferences'
import { CertificatePanel } from './certificate-panel'

export async function generateMetadata() {
  const t = await getTranslations('certificates')
  return { title: t('title') }
}

/** What I hold, when it ends, what to do next, what I have done, and everything that is kept about me. */
export default async function CertificatesPage() {
  const actor = await requireActor('/certificates')
  const { locale } = await preferences()
  const [t, mine] = await Promise.all([
    getTranslations('certificates'),
    orNotFound(getMyCertificatesOrThrow(actor, locale)),
  ])
  const current = mine.certificates.filter((c) => c.state === 'valid' || c.state === 'notYetValid')
  const earlier = mine.certificates.filter((c) => !current.includes(c))
  const election = mine.standing.nextElection
  return (
    <Page title={t('title')} here="/certificates" narrow>
      <p className="lead">{t('lead')}</p>
      {current.length === 0 && (
        <Empty>
          <p>{t('none')}</p>
          <p>
            <a href="/path">{t('toPath')}</a>
          </p>
        </Empty>
      )}
      {current.map((certificate) => (
        <CertificatePanel
          key={certificate.certificateId}
          certificate={certificate}
          electionOn={election?.heldOn ?? null}
          locale={locale}
        />
      ))}
      {earlier.length > 0 && (
        <section aria-labelledby="earlier">
          <h2 id="earlier">{t('earlier')}</h2>
          <ul className="plain-rows">
            {earlier.map((c) => (
              <li key={c.certificateId}>
                <strong>{c.name}</strong> <Tag kind="bad">✕ {t(`state.${c.state}`)}</Tag>
                <br />
                <span className="small">
                  {c.state === 'revoked' && c.revokedOn
                    ? t('revokedOn', {
                        date: dateInWords(c.revokedOn, locale),
                        reason: c.revokedBecause ?? '',
                      })
                    : c.state === 'revoked'
                      ? t('takenBack')
                      : c.validUntil && t('endedOn', { date: dateInWords(c.validUntil, locale) })}{' '}
                  {t('number')} {c.serial}
                </span>
              </li>
            ))}
          </ul>
        </section>
      )}
      <section aria-labelledby="history">
        <h2 id="history">{t('history')}</h2>
        {mine.history.length === 0 && <p className="quiet">{t('noHistory')}</p>}
        <ol className="plain-rows">
          {mine.history.map((entry) => (
            <li key={entry.id}>
              <time dateTime={entry.on} className="small quiet">
                {dateInWords(entry.on, locale)}
              </time>
              <br />
              {entry.takenBack ? (
                <>
                  <s>{t(`fact.${entry.kind}`, { topic: entry.topic })}</s> ({t('crossed')})
                </>
              ) : (
                t(`fact.${entry.kind}`, { topic: entry.topic })
              )}
              {entry.scoreFraction !== null &&
                `, ${t('score', { percent: Math.round(entry.scoreFraction * 100) })}`}
            </li>
          ))}
        </ol>
      </section>
      <section className="panel" aria-labelledby="all">
        <h2 id="all">{t('allTitle')}</h2>
        <p>{t('allWhy')}</p>
        <p>
          <a className="button" href="/certificates/record">
            {t('allSee')}
          </a>
        </p>
      </section>
    </Page>
  )
}
