import { getTranslations } from 'next-intl/server'
import { Notice } from '@/app/ui/notice'

/** Whether the office waits for an answer, or where to look up the work that was said yes to. */
export async function OffersNotice({ offered }: { offered: { waiting: number; all: number } }) {
  if (offered.all === 0) return null
  const t = await getTranslations('offers')
  return (
    <Notice kind={offered.waiting > 0 ? 'warn' : 'good'}>
      <p>{offered.waiting > 0 ? t('pathWaiting', { n: offered.waiting }) : t('pathHave')}</p>
      <a className="button wide" data-kind={offered.waiting > 0 ? 'main' : undefined} href="/offers">
        {t(offered.waiting > 0 ? 'pathLook' : 'pathOpen')}
      </a>
    </Notice>
  )
}
