import { getTranslations } from 'next-intl/server'
import { ActionForm, LongField } from '@/app/ui/action-form'
import { Notice } from '@/app/ui/notice'
import { dateInWords } from '@/lib/kernel/date-words'
import type { Locale } from '@/lib/kernel/wording'
import type { MyCorrections } from '@/lib/record/queries-corrections'
import { askForCorrectionAction } from './actions'

/** What somebody says is wrong about them, and what the office answered. */
export async function Corrections({
  corrections,
  locale,
  asked,
}: {
  corrections: MyCorrections
  locale: Locale
  asked: boolean
}) {
  const t = await getTranslations('certificates.record.correct')
  const { office, requests } = corrections
  return (
    <section className="panel no-print" aria-labelledby="correct">
      <h2 id="correct">{t('title')}</h2>
      {asked && (
        <div role="status">
          <Notice kind="good">
            <p>{t('asked')}</p>
          </Notice>
        </div>
      )}
      {requests.map((request) => (
        <div key={request.id}>
          <p>
            <b>
              {request.answeredOn
                ? t('done', {
                    date: dateInWords(request.askedOn, locale),
                    answered: dateInWords(request.answeredOn, locale),
                  })
                : t('open', { date: dateInWords(request.askedOn, locale) })}
            </b>
            <br />
            <span className="quiet">{request.text}</span>
          </p>
          {request.answeredOn && <p>{request.answer}</p>}
        </div>
      ))}
      <p>{t('why')}</p>
      {office.phone && (
        <p>
          <a href={`tel:${office.phone}`}>{t('call', { office: office.name, phone: office.phone })}</a>
        </p>
      )}
      <ActionForm action={askForCorrectionAction} id="ask">
        <LongField name="text" label={t('text')} rows={3} maxLength={2000} />
        <button type="submit">{t('ask')}</button>
      </ActionForm>
    </section>
  )
}
