import '@fontsource-variable/atkinson-hyperlegible-next'
import './look/tokens.css'
import './look/base.css'
import type { Metadata, Viewport } from 'next'
import { NextIntlClientProvider } from 'next-intl'
import { getTranslations } from 'next-intl/server'
import type { ReactNode } from 'react'
import { messagesFor } from '@/lib/web/messages'
import { preferences } from '@/lib/web/preferences'

export const metadata: Metadata = {
  title: { default: 'Poll worker readiness', template: '%s · Poll worker readiness' },
  robots: { index: false },
}
export const viewport: Viewport = { width: 'device-width', initialScale: 1 }

export default async function RootLayout({ children }: { children: ReactNode }) {
  const { locale, theme, textSize } = await preferences()
  const t = await getTranslations('ui')
  return (
    <html lang={locale} data-theme={theme === 'system' ? undefined : theme} data-text={textSize}>
      <body>
        <a className="skip" href="#main">
          {t('skip')}
        </a>
        <NextIntlClientProvider locale={locale} messages={{ ui: messagesFor(locale).ui }}>
          {children}
        </NextIntlClientProvider>
      </body>
    </html>
  )
}
