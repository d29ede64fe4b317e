import { redirect } from 'next/navigation'
import { getTranslations } from 'next-intl/server'
import { ActionForm } from '@/app/ui/action-form'
import { Page } from '@/app/ui/frame'
import { readSerial } from '@/lib/certification/core/serial'
import { checkFileAction } from './actions'
import { FileAnswer } from './file-answer'
import './verify.css'

export async function generateMetadata() {
  const t = await getTranslations('verify')
  return { title: t('title') }
}

/** Where anybody checks a certificate: by its number, or by its signed text. */
export default async function VerifyPage({
  searchParams,
}: {
  searchParams: Promise<{ number?: string | string[] }>
}) {
  const { number } = await searchParams
  const typed = typeof number === 'string' ? number.slice(0, 100) : ''
  const serial = readSerial(typed)
  if (serial) redirect(`/verify/${serial}`)
  const t = await getTranslations('verify')
  const wrong = typed.trim() !== ''
  return (
    <Page title={t('title')} narrow>
      <p className="lead">{t('lead')}</p>
      <section className="panel" aria-labelledby="by-number">
        <h2 id="by-number">{t('numberHeading')}</h2>
        <form action="/verify" method="get">
          <div className="field">
            <label htmlFor="number">{t('numberLabel')}</label>
            <p className="hint" id="number-hint">
              {t('numberHint')}
            </p>
            <input
              id="number"
              name="number"
              className="certificate-number"
              defaultValue={typed}
              autoComplete="off"
              autoCapitalize="characters"
              spellCheck={false}
              maxLength={30}
              aria-invalid={wrong || undefined}
              aria-describedby={wrong ? 'number-hint number-error' : 'number-hint'}
            />
            {wrong && (
              <p className="field-error" id="number-error" role="alert">
                {t('numberUnreadable')}
              </p>
            )}
          </div>
          <button type="submit" data-kind="main" className="wide">
            {t('numberButton')}
          </button>
        </form>
      </section>
      <section className="panel" aria-labelledby="by-file">
        <h2 id="by-file">{t('fileHeading')}</h2>
        <p>{t('fileWhy')}</p>
        <ActionForm action={checkFileAction} id="file">
          <FileAnswer />
          <div className="field">
            <label htmlFor="credential">{t('pasteLabel')}</label>
            <textarea id="credential" name="credential" className="paste" spellCheck={false} />
          </div>
          <div className="field">
            <label htmlFor="upload">{t('uploadLabel')}</label>
            <input id="upload" name="file" type="file" accept=".jwt,.txt,text/plain,application/jwt" />
          </div>
          <button type="submit" className="wide">
            {t('fileButton')}
          </button>
        </ActionForm>
      </section>
      <p className="small quiet">{t('privacy')}</p>
      <p>
        <a href="/verify/offline">{t('withoutUs')}</a>
      </p>
    </Page>
  )
}
