import { getTranslations } from 'next-intl/server'
import { Page } from '@/app/ui/frame'
import { Notice } from '@/app/ui/notice'
import { requestMeta } from '@/lib/auth/request-meta'
import { readSerial } from '@/lib/certification/core/serial'
import { verifyBySerial } from '@/lib/certification/queries-verify'
import { preferences } from '@/lib/web/preferences'
import { showVerdict } from '../shown-verdict'
import { VerdictPanel } from '../verdict-panel'
import '../verify.css'

export async function generateMetadata() {
  const t = await getTranslations('verify')
  return { title: t('title') }
}

/** What the QR code of a certificate opens. */
export default async function VerifySerialPage({ params }: { params: Promise<{ serial: string }> }) {
  const typed = decodeURIComponent((await params).serial)
  const [t, { locale }, { address }] = await Promise.all([
    getTranslations('verify'),
    preferences(),
    requestMeta(),
  ])
  const shown = await showVerdict(await verifyBySerial(typed, address), locale)
  return (
    <Page title={t('resultTitle', { serial: readSerial(typed) ?? '' })} narrow>
      {'wait' in shown ? (
        <Notice kind="warn">
          <p>{shown.wait}</p>
        </Notice>
      ) : (
        <VerdictPanel verdict={shown} />
      )}
      <p>
        <a className="button" href="/verify">
          {t('another')}
        </a>
      </p>
      <p className="small quiet">{t('privacy')}</p>
    </Page>
  )
}
