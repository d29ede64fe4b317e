import { getTranslations } from 'next-intl/server'
import { Tag } from '@/app/ui/notice'
import type { MyClass } from '@/lib/classes/queries-classes'

/** How the person stands in a class, as a sign and words. */
export async function MyState({ mine }: { mine: NonNullable<MyClass['mine']> }) {
  const t = await getTranslations('classes')
  switch (mine.state) {
    case 'seat':
    case 'attended':
      return <Tag kind="good">✓ {t(`state.${mine.state}`)}</Tag>
    case 'waiting':
      return <Tag kind="warn">… {t('state.waiting', { place: mine.place })}</Tag>
    case 'noShow':
      return <Tag kind="bad">✕ {t('state.noShow')}</Tag>
    default:
      return <Tag>○ {t(`state.${mine.state}`)}</Tag>
  }
}

/** One class in a list: what, when, where, how full, and the way in. */
export async function ClassCard({ held }: { held: MyClass }) {
  const t = await getTranslations('classes')
  return (
    <li className="panel">
      <p>
        <strong>{held.title}</strong>
      </p>
      <p>{held.when}</p>
      <p>{held.placeName}</p>
      <p className="row">
        <Tag>{t(`heldIn.${held.locale}`)}</Tag>
        {held.forPosition && <Tag>{t('for', { position: held.forPosition })}</Tag>}
        {held.state === 'cancelled' ? (
          <Tag kind="bad">✕ {t('classState.cancelled')}</Tag>
        ) : held.mine && held.mine.state !== 'cancelled' ? (
          <MyState mine={held.mine} />
        ) : (
          <Tag kind={held.seatsLeft > 0 ? 'good' : 'warn'}>{t('seatsLeft', { n: held.seatsLeft })}</Tag>
        )}
      </p>
      <p>
        <a className="button wide" href={`/classes/${held.id}`}>
          {t('look')}
          <span className="only-heard">: {held.when}</span>
        </a>
      </p>
    </li>
  )
}
