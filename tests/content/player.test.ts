import AxeBuilder from '@axe-core/playwright'
import type { Browser } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { seededRandom, seedOf } from '@/lib/kernel/random'
import { findScenario, listScenarios, profilesFor } from '@/lib/scenarios/content'
import { exploreLesson } from '@/lib/scenarios/core/explore'
import { scoreRange, soundPath } from '@/lib/scenarios/core/range'
import { replay } from '@/lib/scenarios/core/replay'
import { launch, openLesson, overflow, playByKeyboard } from './player/keyboard'

let browser: Browser
beforeAll(async () => {
  browser = await launch()
})
afterAll(() => browser.close())

const FULL = process.env.TEST_FULL === '1'
const random = seededRandom(seedOf('player'))

/** Every lesson in the full run, a seeded sample of them otherwise; each on one of its profiles. */
const lessons = (FULL ? listScenarios() : random.shuffle(listScenarios()).slice(0, 1)).map((scenario) => ({
  scenario,
  profile: random.pick(profilesFor(scenario)),
}))

describe.each(lessons)(
  '$scenario.id on $profile.id, at 320 px by keyboard alone',
  ({ scenario, profile }) => {
    const graph = exploreLesson(scenario, profile)

    it.each([
      ['the sound way', soundPath(graph), 'practice', 'en'],
      ['the worst way', scoreRange(graph)?.leastPath, 'practice', 'es'],
    ] as const)('is finished by %s', async (_name, path, mode, locale) => {
      const lesson = { scenario, profile, mode, locale }
      const { page, errors, close } = await openLesson(browser, lesson)
      const log = await playByKeyboard(page, lesson, path!)
      const played = replay(scenario, profile, log)
      expect(played.finished).toBe(true)
      expect(played.scoreFraction).toBeCloseTo(replay(scenario, profile, path!).scoreFraction, 12)
      expect(await overflow(page)).toBe(0)
      expect(errors).toEqual([])
      await close()
    })
  },
)

describe('the lesson "card-returned"', () => {
  const scenario = findScenario('card-returned')!.scenario
  const profile = profilesFor(scenario)[0]!

  it('is finished in graded play, and no explanation reaches the page', async () => {
    const lesson = { scenario, profile, mode: 'graded', locale: 'en' } as const
    const { page, errors, close } = await openLesson(browser, lesson)
    const log = await playByKeyboard(page, lesson, soundPath(exploreLesson(scenario, profile))!)
    expect(replay(scenario, profile, log).scoreFraction).toBe(1)
    const held = await page.locator('.play').innerHTML()
    for (const [key, text] of Object.entries(scenario.texts.en))
      if (key.endsWith('.why')) expect(held).not.toContain(text.slice(0, 30))
    expect(errors).toEqual([])
    await close()
  })

  it('loses nothing when the connection fails in the middle and the page is opened again', async () => {
    const lesson = { scenario, profile, mode: 'practice', locale: 'en' } as const
    const path = soundPath(exploreLesson(scenario, profile))!
    const { page, close } = await openLesson(browser, lesson)
    await page.evaluate(() => {
      window.server.failures = 1_000
    })
    await page.locator('[data-option="ask-near"]').click()
    await page.locator('[data-go-on]').click()
    await page.locator('[data-sync="offline"]').waitFor({ state: 'attached' })
    expect(await page.evaluate(() => window.server.log.length)).toBe(0)
    await page.reload()
    await page.locator('.play[data-step="stand"]').waitFor()
    await page.waitForFunction(() => window.server.log.length === 1)
    for (const event of path.slice(1)) {
      // Go on by mouse: the keyboard's way is tested above.
      const selector =
        event.type === 'choose'
          ? `[data-option="${event.option}"]`
          : event.type === 'act'
            ? `[data-act="${event.act}"]`
            : event.type === 'station'
              ? `[data-station-event='${JSON.stringify(event.event)}']`
              : null
      if (!selector) break
      await page.locator(selector).click()
      const goOn = page.locator('[data-go-on]')
      if (await goOn.isVisible()) await goOn.click()
    }
    await page.waitForFunction(() => window.server.log.length >= 4)
    await close()
  })

  it('has no accessibility violation on any of its screens', async () => {
    const { page, close } = await openLesson(browser, { scenario, profile, mode: 'practice', locale: 'en' })
    const violations: string[] = []
    const look = async () => {
      const result = await new AxeBuilder({ page }).disableRules(['page-has-heading-one', 'region']).analyze()
      violations.push(...result.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target).join(' ')}`))
    }
    await look()
    await page.locator('[data-option="ask-near"]').click()
    await look()
    await page.locator('[data-go-on]').click()
    await page.locator('[data-option="beside"]').click()
    await page.locator('[data-go-on]').click()
    await look()
    await page.locator(`[data-station-event='{"type":"insert"}']`).click()
    await look()
    expect(violations).toEqual([])
    await close()
  })

  it('leads back through earlier steps and forward again without losing anything', async () => {
    const { page, close } = await openLesson(browser, { scenario, profile, mode: 'practice', locale: 'en' })
    await page.locator('[data-option="ask-near"]').click()
    await page.locator('[data-go-on]').click()
    await page.getByRole('button', { name: 'Back', exact: true }).click()
    await expect(page.locator('.play').getAttribute('data-screen')).resolves.toBe('past')
    await page.getByText('You chose:').waitFor()
    await page.getByRole('button', { name: 'Return to where you were' }).click()
    await page.locator('.play[data-step="stand"][data-screen="now"]').waitFor()
    await close()
  })
})
