import { getTranslations } from 'next-intl/server'
import { Notice } from '@/app/ui/notice'
import type { MendedForPerson } from '@/lib/assessment/queries-result'
import { dateInWords } from '@/lib/kernel/date-words'
import { preferences } from '@/lib/web/preferences'

const percent = (fraction: number) => Math.floor(fraction * 100 + 1e-9)

/** Questions that were corrected after the quiz was handed in, and what that did to the result. */
export async function Mended({ mended }: { mended: MendedForPerson[] }) {
  const [t, { locale }] = await Promise.all([getTranslations('quiz.mended'), preferences()])
  return mended.map(({ n, text, why, on, change, appealed }) => (
    <Notice key={n}>
      <h2 style={{ marginTop: 0 }}>{t(change ? 'changed' : 'same')}</h2>
      <p>{t(appealed ? 'afterAppeal' : 'text', { n, date: dateInWords(on, locale) })}</p>
      <p className="question-text">{text}</p>
      <p>{t('why', { why })}</p>
      {change && change.beforeFraction !== null && change.afterFraction !== null && (
        <p>{t('scores', { before: percent(change.beforeFraction), after: percent(change.afterFraction) })}</p>
      )}
      {change && change.passedBefore !== change.passedAfter && (
        <p>
          <strong>{t(change.passedAfter ? 'nowPassed' : 'nowNot')}</strong>
        </p>
      )}
    </Notice>
  ))
}
