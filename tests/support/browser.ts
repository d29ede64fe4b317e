import AxeBuilder from '@axe-core/playwright'
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core'
import type { Visitor } from './visitor'

export const PHONE = { width: 320, height: 640 }
export const TABLET = { width: 768, height: 1024 }
export const DESKTOP = { width: 1280, height: 800 }

/** Debian's Chromium, as a test may run it: no sandbox as root, no traffic of its own. */
export const openBrowser = (): Promise<Browser> =>
  chromium.launch({
    executablePath: process.env.CHROMIUM || '/usr/bin/chromium',
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  })

export interface ContextOptions {
  size?: { width: number; height: number }
  visitor?: Visitor | undefined
  locale?: 'en' | 'es'
  theme?: 'light' | 'dark' | 'contrast'
  javaScript?: boolean
}

export async function openContext(
  browser: Browser,
  url: string,
  options: ContextOptions = {},
): Promise<BrowserContext> {
  const context = await browser.newContext({
    viewport: options.size ?? DESKTOP,
    javaScriptEnabled: options.javaScript ?? true,
    reducedMotion: 'reduce',
  })
  const cookie = (name: string, value: string) => ({ name, value, url, sameSite: 'Lax' as const })
  const cookies = [cookie('locale', options.locale ?? 'en')]
  if (options.theme) cookies.push(cookie('theme', options.theme))
  if (options.visitor) cookies.push(cookie(options.visitor.cookieName, options.visitor.cookieValue))
  await context.addCookies(cookies)
  return context
}

/** What axe finds against WCAG 2.2 A and AA (and its best practices), as short lines; empty when nothing. */
export async function axeFindings(page: Page): Promise<string[]> {
  const { violations } = await new AxeBuilder({ page })
    .options({ resultTypes: ['violations'] })
    .withTags(['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'])
    // Twice as fast; the other mode is for frames of foreign origin, and no page has one.
    .setLegacyMode(true)
    .analyze()
  return violations.flatMap((v) => v.nodes.map((node) => `${v.id}: ${node.target.join(' ')} (${v.help})`))
}

/** Is anything wider than the window (WCAG 1.4.10, reflow)? Boxes that scroll by themselves are fine. */
export const sidewaysPixels = (page: Page): Promise<number> =>
  page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth)
