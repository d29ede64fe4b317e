import { getTranslations } from 'next-intl/server'
import type { MyClass } from '@/lib/classes/queries-classes'

/** The way to the classes from the next step: the seat that one has, or the dates to choose from. */
export async function ClassDates({ topic, dates }: { topic: string; dates: MyClass[] }) {
  const t = await getTranslations('path')
  const mine = dates.find((c) => c.mine?.state === 'seat' || c.mine?.state === 'waiting')
  if (mine)
    return (
      <>
        <p>
          <strong>
            {t(mine.mine?.state === 'waiting' ? 'classWaiting' : 'classBooked', { when: mine.when })}
          </strong>
        </p>
        <a className="button wide" data-kind="main" href={`/classes/${mine.id}`}>
          {t('classSee')}
        </a>
      </>
    )
  if (dates.length === 0) return <p>{t('classNone')}</p>
  return (
    <a className="button wide" data-kind="main" href={`/classes?topic=${topic}`}>
      {t('classDates', { n: dates.length })}
    </a>
  )
}
