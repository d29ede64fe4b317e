import '@fontsource-variable/atkinson-hyperlegible-next'
import './look/tokens.css'
import './look/base.css'
import type { Metadata, Viewport } from 'next'
import { getTranslations } from 'next-intl/server'
import type { ReactNode } from 'react'
import { preferences } from '@/lib/web/preferences'
import { UiWordsProvider } from './ui/words'

export const metadata: Metadata = {
  title: { default: 'Poll worker readiness', template: '%s · Poll worker readiness' },
  robots: { index: false },
}
export const viewport: Viewport = { width: 'device-width', initialScale: 1 }

export default async function RootLayout({ children }: { children: ReactNode }) {
  const { locale, theme, textSize } = await preferences()
  const t = await getTranslations('ui')
  const uiWords = {
    working: t('working'),
    errorTitle: t('errorTitle'),
    error: t.raw('error'),
    tryAgain: t('tryAgain'),
    home: t('home'),
  }
  return (
    <html lang={locale} data-theme={theme === 'system' ? undefined : theme} data-text={textSize}>
      <body>
        <a className="skip" href="#main">
          {t('skip')}
        </a>
        <UiWordsProvider words={uiWords}>{children}</UiWordsProvider>
      </body>
    </html>
  )
}
