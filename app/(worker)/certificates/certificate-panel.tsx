import { getTranslations } from 'next-intl/server'
import { Tag } from '@/app/ui/notice'
import { dateInWords, lastDayInWords } from '@/lib/kernel/date-words'
import type { CivilDate } from '@/lib/kernel/dates'
import type { Locale } from '@/lib/kernel/wording'
import type { MyCertificate } from '@/lib/path/queries-certificates'

/** One certificate that counts, or will: until when, how to keep it, and the ways to show it. */
export async function CertificatePanel({
  certificate: c,
  electionOn,
  locale,
}: {
  certificate: MyCertificate
  electionOn: CivilDate | null
  locale: Locale
}) {
  const t = await getTranslations('certificates')
  const other = locale === 'es' ? 'en' : 'es'
  const pdf = `/api/certificates/${c.issueId}/certificate.pdf`
  const valid = c.state === 'valid'
  return (
    <section className="panel certificate" aria-labelledby={c.certificateId}>
      <h2 id={c.certificateId}>{c.name}</h2>
      <p className="row">
        <Tag kind={valid ? 'good' : 'warn'}>
          {valid ? '✓' : '○'} {t(`state.${c.state}`)}
        </Tag>
        <strong>
          {!valid && c.validFrom
            ? t('beginsOn', { date: dateInWords(c.validFrom, locale) })
            : c.validUntil
              ? t('through', { date: lastDayInWords(c.validUntil, locale) })
              : t('noEnd')}
        </strong>
      </p>
      {electionOn && c.standing && (
        <p>
          {c.standing.validOnElectionDay
            ? `✓ ${t('covers', { date: dateInWords(electionOn, locale) })}`
            : `! ${t('endsBefore', { date: dateInWords(electionOn, locale) })}`}
        </p>
      )}
      {c.toRenew.length > 0 && c.validUntil && (
        <>
          <h3>{t('renewTitle', { date: lastDayInWords(c.validUntil, locale) })}</h3>
          <ul>
            {c.toRenew.map((step) => (
              <li key={step.label}>
                {step.doFrom
                  ? t('renewFrom', { step: step.label, date: dateInWords(step.doFrom, locale) })
                  : t('renewAny', { step: step.label })}
              </li>
            ))}
          </ul>
        </>
      )}
      <p>
        {t('number')}: <strong className="one-line">{c.serial}</strong>
      </p>
      {c.issueId && (
        <>
          <p className="row">
            <a className="button" data-kind="main" href={`${pdf}?language=${locale}`}>
              {t('print')}
            </a>
            <a className="button" href={`/verify/${c.serial}`}>
              {t('show')}
            </a>
          </p>
          <p className="small">
            <a href={`${pdf}?language=${other}`}>{t('printOther')}</a> ·{' '}
            <a href={`/api/certificates/${c.issueId}/credential.jwt`}>{t('file')}</a>
          </p>
          <p className="small quiet">{t('fileWhy')}</p>
        </>
      )}
    </section>
  )
}
