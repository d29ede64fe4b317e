import { getTranslations } from 'next-intl/server'
import type { ReactNode } from 'react'
import { ActionForm, LongField, Tick } from '@/app/ui/action-form'
import { Tag } from '@/app/ui/notice'
import { dateInWords } from '@/lib/kernel/date-words'
import { milesText } from '@/lib/kernel/miles'
import type { Locale } from '@/lib/kernel/wording'
import { clockInWords, dayInWords } from '@/lib/offers/core/words'
import type { MyOffer } from '@/lib/offers/queries-mine'
import { DECLINE_REASONS } from '@/lib/offers/schema'
import type { FormAction } from '@/lib/web/define-action'
import { WayMap } from './way-map'

const STATE = {
  accepted: ['good', '✓'],
  open: ['warn', '…'],
  overdue: ['warn', '!'],
  asked: ['info', '?'],
  declined: ['info', '✕'],
  withdrawn: ['info', '–'],
} as const

/** What every form of an answer needs: where it goes, and (by the link of a letter) its token. */
export interface AnswerDoor {
  action: FormAction
  token: string | null
}

export const AnswerForm = ({
  door,
  offers,
  answer,
  children,
}: {
  door: AnswerDoor
  offers: { id: string }[]
  answer: string
  children: ReactNode
}) => (
  <ActionForm action={door.action} id={`${answer}-${offers.map((o) => o.id).join('-')}`}>
    {door.token && <input type="hidden" name="token" value={door.token} />}
    {offers.map((o) => (
      <input key={o.id} type="hidden" name="offerIds[]" value={o.id} />
    ))}
    <input type="hidden" name="answer" value={answer} />
    {children}
  </ActionForm>
)

/** One day's work: when, what, where, the way there, whom to call, what to know, and the answer. */
export async function OfferCard({
  offer,
  locale,
  door,
  calendarHref,
}: {
  offer: MyOffer
  locale: Locale
  door: AnswerDoor
  calendarHref: string
}) {
  const t = await getTranslations('offers')
  const { place, hours, may } = offer
  const [kind, sign] = STATE[offer.state]
  const isOver = offer.state === 'declined' || offer.state === 'withdrawn'
  return (
    <section className="panel offer" aria-label={`${offer.when}: ${offer.position}, ${place.name}`}>
      <h2>{dayInWords(offer.on, locale)}</h2>
      <p>
        <Tag kind={kind}>
          {sign} {t(`state.${offer.state}`)}
        </Tag>
      </p>
      {(offer.state === 'open' || offer.state === 'overdue') && (
        <p>
          <b>
            {t(offer.state === 'open' ? 'answerBy' : 'wasBy', { date: dateInWords(offer.answerBy, locale) })}
          </b>
        </p>
      )}
      {offer.state === 'asked' && <p>{t('askedNow')}</p>}
      {isOver && <p>{t(offer.state === 'declined' ? 'declinedNow' : 'withdrawnNow')}</p>}
      {!isOver && (
        <>
          <dl className="told">
            <dt>{t('work')}</dt>
            <dd>{offer.position}</dd>
            <dt>{t('hours')}</dt>
            <dd>
              {hours ? (
                <>
                  {t('beThere', { from: clockInWords(hours.from, locale) })}
                  <br />
                  {t('until', { until: clockInWords(hours.until, locale) })}
                  <br />
                  {offer.shift !== 'full' && (
                    <>
                      {t(`half.${offer.shift}`)}
                      <br />
                    </>
                  )}
                  <span className="small plain">
                    {t('doors', {
                      opens: clockInWords(hours.opensAt, locale),
                      closes: clockInWords(hours.closesAt, locale),
                    })}
                  </span>
                </>
              ) : (
                t(`shift.${offer.shift}`)
              )}
            </dd>
            <dt>{t('place')}</dt>
            <dd>
              {place.name}
              <br />
              {place.address}
              {place.before && (
                <>
                  <br />
                  <b>{t('moved', { before: place.before })}</b>
                </>
              )}
              {offer.km !== null && (
                <>
                  <br />
                  <span className="small plain">
                    {t('fromHome', { distance: locale === 'es' ? miles(offer.km) : milesText(offer.km) })}
                  </span>
                </>
              )}
            </dd>
          </dl>
          {place.at && (
            <>
              <WayMap at={place.at} others={offer.others} label={place.name} />
              <p>
                <span className="small quiet" aria-hidden="true">
                  {t('mapKey')}
                </span>
                <br />
                <a href={`geo:${place.at[0]},${place.at[1]}?q=${encodeURIComponent(place.address)}`}>
                  {t('openMap')}
                </a>
              </p>
            </>
          )}
        </>
      )}
      {may.accept && (
        <AnswerForm door={door} offers={[offer]} answer="accepted">
          <button type="submit" data-kind="main" className="wide">
            {t('accept')}
            <span className="only-heard">: {offer.when}</span>
          </button>
        </AnswerForm>
      )}
      {offer.state === 'accepted' && (
        <>
          <a className="button wide" data-kind="main" href={calendarHref} download>
            {t('calendar')}
          </a>
          <p className="small quiet">{t('calendarWhy')}</p>
        </>
      )}
      {may.decline && (
        <details>
          <summary>{t(offer.state === 'accepted' ? 'cannotAnyMore' : 'decline')}</summary>
          <AnswerForm door={door} offers={[offer]} answer="declined">
            <fieldset>
              <legend>{t('why')}</legend>
              {DECLINE_REASONS.map((reason) => (
                <label key={reason} className="choice">
                  <Tick type="radio" name="reason" value={reason} defaultChecked={reason === 'private'} />{' '}
                  <span>{t(`reason.${reason}`)}</span>
                </label>
              ))}
            </fieldset>
            <LongField name="note" label={t('note')} hint={t('noteHint')} rows={2} maxLength={500} />
            <button type="submit" data-kind="bad" className="wide">
              {t('declineNow')}
            </button>
          </AnswerForm>
        </details>
      )}
      {may.ask && (
        <details>
          <summary>{t('ask')}</summary>
          <p>{t('askWhat')}</p>
          <AnswerForm door={door} offers={[offer]} answer="askedElsewhere">
            <LongField name="note" label={t('askNote')} hint={t('noteHint')} rows={2} maxLength={500} />
            <button type="submit" className="wide">
              {t('askNow')}
            </button>
          </AnswerForm>
        </details>
      )}
      {!isOver && (
        <>
          <h3>{t('callWhom')}</h3>
          <p>
            {offer.office.name}
            {offer.office.officePhone && (
              <>
                : <a href={`tel:${offer.office.officePhone}`}>{offer.office.officePhone}</a>
              </>
            )}
            {offer.office.officeHours && <span className="quiet"> ({offer.office.officeHours})</span>}
          </p>
          {place.contactPhone && (
            <p>
              {t('atPlace', { name: place.contactName || place.name })}:{' '}
              <a href={`tel:${place.contactPhone}`}>{place.contactPhone}</a>
            </p>
          )}
          {offer.aids.length > 0 && (
            <details>
              <summary>{t('aids', { n: offer.aids.length })}</summary>
              <p className="small quiet">{t('aidsFor', { name: offer.equipment })}</p>
              {offer.aids.map((aid) => (
                <details key={aid.key} className="aid">
                  <summary>{aid.title}</summary>
                  <ol>
                    {aid.lines.map((line) => (
                      <li key={line}>{line}</li>
                    ))}
                  </ol>
                </details>
              ))}
              <p className="small">{t('caution')}</p>
            </details>
          )}
        </>
      )}
    </section>
  )
}

const miles = (km: number): string => milesText(km).replace('miles', 'millas').replace('mile', 'milla')
