/** Opens a lesson in Chromium at 320 px and plays a log by keyboard alone: Tab to what is meant, Enter to press it. */
import { createRequire } from 'node:module'
import path from 'node:path'
import { type Browser, chromium, type Page } from 'playwright-core'
import { replay } from '@/lib/scenarios/core/replay'
import { stepOf, transition } from '@/lib/scenarios/core/transition'
import type { EquipmentProfile, Locale, PlayEvent, Scenario } from '@/lib/scenarios/schema'

export const launch = (): Promise<Browser> =>
  chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'] })

let bundle: { script: string; style: string } | undefined

/** The player with React, bundled once. esbuild comes with tsx. */
async function bundled(): Promise<{ script: string; style: string }> {
  if (bundle) return bundle
  const fromTsx = createRequire(createRequire(import.meta.url).resolve('tsx'))
  const esbuild = fromTsx('esbuild') as {
    build(options: object): Promise<{ outputFiles: { path: string; text: string }[] }>
  }
  const root = process.cwd()
  const { outputFiles } = await esbuild.build({
    entryPoints: [path.join(root, 'tests/content/player/page.tsx')],
    bundle: true,
    write: false,
    outdir: root,
    jsx: 'automatic',
    define: { 'process.env.NODE_ENV': '"production"' },
    alias: { '@': root },
    nodePaths: [path.join(root, 'node_modules')],
  })
  const of = (end: string) => outputFiles.find((f) => f.path.endsWith(end))!.text
  bundle = { script: of('.js'), style: of('.css') }
  return bundle
}

export interface Opened {
  page: Page
  /** Errors of the page and of its console. */
  errors: string[]
  close(): Promise<void>
}

export async function openLesson(
  browser: Browser,
  lesson: { scenario: Scenario; profile: EquipmentProfile; locale: Locale; mode: 'practice' | 'graded' },
): Promise<Opened> {
  const { script, style } = await bundled()
  const context = await browser.newContext({ viewport: { width: 320, height: 640 }, reducedMotion: 'reduce' })
  const page = await context.newPage()
  const errors: string[] = []
  page.on('pageerror', (e) => errors.push(e.message))
  page.on('console', (m) => m.type() === 'error' && errors.push(m.text()))
  await page.addInitScript((l) => Object.assign(window, { lesson: l }), lesson)
  await page.route('http://lesson.test/**', (route) =>
    route.fulfill({
      contentType: 'text/html',
      body: `<!doctype html><html lang="${lesson.locale}"><head><title>Lesson</title><meta name="viewport" content="width=device-width"><style>${style}</style></head><body><main id="main"></main><script>${script.replaceAll('</script', '<\\/script')}</script></body></html>`,
    }),
  )
  await page.goto('http://lesson.test/')
  await page.locator('.play').waitFor()
  return { page, errors, close: () => context.close() }
}

/** Presses Tab until the focus is on an element that matches, then Enter. Fails after a whole round. */
export async function press(page: Page, selector: string): Promise<void> {
  for (let tabs = 0; tabs < 120; tabs++) {
    const there = await page.evaluate((s) => document.activeElement?.matches(s) ?? false, selector)
    if (there) {
      await page.keyboard.press('Enter')
      return
    }
    await page.keyboard.press('Tab')
  }
  throw new Error(`the keyboard can't reach ${selector}`)
}

const quoted = (text: string) => `"${text.replaceAll('"', '\\"')}"`

export async function perform(page: Page, event: PlayEvent, order: readonly string[]): Promise<void> {
  switch (event.type) {
    case 'choose':
      return press(page, `[data-option=${quoted(event.option)}]`)
    case 'act':
      return press(page, `[data-act=${quoted(event.act)}]`)
    case 'ask-help':
      return press(page, '[data-ask-help]')
    case 'mark':
      return press(page, `[data-thing=${quoted(event.thing)}]`)
    case 'hand-in':
      return press(page, '[data-hand-in]')
    case 'move': {
      const from = order.indexOf(event.item)
      const button = `[data-item=${quoted(event.item)}] [data-move=${from > event.to ? 'up' : 'down'}]`
      for (let at = from; at !== event.to; at += Math.sign(event.to - at)) await press(page, button)
      return
    }
    case 'station': {
      if (event.event.type === 'enter-difference') {
        const field = page.locator('[data-difference]')
        await press(page, '[data-difference]')
        await field.fill(String(event.event.value))
        return press(page, '[data-enter-difference]')
      }
      return press(page, `[data-station-event=${quoted(JSON.stringify(event.event))}]`)
    }
  }
}

/** Plays a log through the page, as a person with a keyboard would, reading each explanation on the way. Returns what
 *  the page's server received. */
export async function playByKeyboard(
  page: Page,
  lesson: { scenario: Scenario; profile: EquipmentProfile; mode: 'practice' | 'graded' },
  events: readonly PlayEvent[],
): Promise<PlayEvent[]> {
  const { scenario, profile, mode } = lesson
  let state = replay(scenario, profile, []).state
  for (const event of events) {
    await perform(page, event, state.order)
    const next = transition(scenario, profile, state, event)
    state = next.state
    if (!next.left) continue
    if (mode === 'practice' && (await page.locator('.play[data-screen=why]').count()) > 0) {
      await expectFocusOnHeading(page)
      await press(page, '[data-go-on]')
    }
    await page
      .locator(`.play[data-step=${quoted(stepOf(scenario, state.step).id)}][data-screen=now]`)
      .waitFor()
    await expectFocusOnHeading(page)
  }
  await page.waitForFunction(() => window.server.finished > 0)
  return page.evaluate(() => window.server.log)
}

async function expectFocusOnHeading(page: Page): Promise<void> {
  await page.waitForFunction(() => document.activeElement?.classList.contains('play-title'), undefined, {
    timeout: 5_000,
  })
}

/** How far the page is wider than the window, in px. */
export const overflow = (page: Page): Promise<number> =>
  page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth)
