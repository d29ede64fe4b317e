import { getTranslations } from 'next-intl/server'
import type { Sitting } from '@/lib/assessment/queries'
import { timeInWords } from '@/lib/kernel/date-words'
import type { Locale } from '@/lib/kernel/wording'

/** Where one is in the quiz, and by when to hand in: a time of day, no counting down. */
export async function SittingHead({
  sitting,
  here,
  locale,
}: {
  sitting: Sitting
  here: number | null
  locale: Locale
}) {
  const t = await getTranslations('quiz')
  const answered = sitting.items.filter((item) => item.answered).length
  return (
    <>
      <ol className="dots" aria-hidden="true">
        {sitting.items.map((item) => (
          <li
            key={item.n}
            data-answered={item.answered || undefined}
            data-here={item.n === here || undefined}
          />
        ))}
      </ol>
      <p className="small">
        {t('progress', { answered, of: sitting.items.length })}.{' '}
        {sitting.dueAt && t('endTime', { time: timeInWords(sitting.dueAt, sitting.timeZone, locale) })}
      </p>
    </>
  )
}
