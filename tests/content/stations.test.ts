import AxeBuilder from '@axe-core/playwright'
import type { Browser } from 'playwright-core'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { listEquipmentProfiles } from '@/lib/scenarios/content'
import { Scenario } from '@/lib/scenarios/schema'
import { launch, openLesson, overflow, press } from './player/keyboard'

const FULL = process.env.TEST_FULL === '1'

const STATIONS = [
  [
    'scanner',
    { kind: 'scanner', counter: 212, ballots: [{ id: 'a', marks: 'overvote' }, { id: 'b' }] },
    [{ type: 'feed' }, { type: 'cast-anyway' }],
  ],
  [
    'check-in',
    {
      kind: 'check-in',
      visitor: 'rowe',
      styles: ['Style 12'],
      lines: [
        { id: 'rowe', name: 'Rowe, Tamsin', address: '14 Alder Lane', style: 'Style 12', status: 'may-vote' },
      ],
    },
    [{ type: 'open-line', line: 'rowe' }, { type: 'take-card', style: 'Style 12' }, { type: 'hand-over' }],
  ],
  [
    'access',
    { kind: 'access' },
    [
      { type: 'plug', device: 'headset', jack: 'headset-jack' },
      { type: 'table', by: -1 },
    ],
  ],
  [
    'exit',
    { kind: 'exit', people: [{ id: 'rosa', name: 'Rosa Lindt', carries: 'ballot', cast: false }] },
    [{ type: 'ask' }, { type: 'send', to: 'scanner' }],
  ],
  [
    'seals',
    {
      kind: 'seals',
      seals: [{ id: 'box', label: 'box', logged: '0048121', onSeal: '0048127' }],
      counts: { received: 3, unused: 1, spoiled: 0, provisional: 0, scanned: 2 },
    },
    [{ type: 'compare', seal: 'box', verdict: 'differs' }, { type: 'sign' }],
  ],
  [
    'ballot-marking',
    {
      kind: 'ballot-marking',
      starts: 'accepted',
      contests: [
        {
          id: 'mayor',
          label: 'mayor',
          choose: 1,
          choices: [
            { id: 'ana', name: 'Ana Pell' },
            { id: 'bo', name: 'Bo Lund' },
          ],
        },
      ],
    },
    [{ type: 'text-size', to: 2 }, { type: 'choose', choice: 'ana' }, { type: 'next' }, { type: 'print' }],
  ],
] as const

/** A lesson that is nothing but one station, whole. */
const lessonOf = (station: object) =>
  Scenario.parse({
    id: 'one-station',
    version: 1,
    number: 99,
    group: 'access',
    minutes: 3,
    start: 'go',
    stations: { it: station },
    jobAid: ['a', 'b', 'c'],
    steps: [
      {
        kind: 'operate',
        id: 'go',
        competency: 'check-in',
        station: 'it',
        outcomes: [{ id: 'never', when: { fact: 'act.never', is: true }, judgement: 'sound', next: 'end-a' }],
        help: { next: 'end-a' },
      },
      { kind: 'end', id: 'end-a', mood: 'well' },
    ],
    texts: {
      en: {
        'go.title': 'One station',
        'go.goal': 'Try it.',
        'station.box': 'Ballot box',
        'station.mayor': 'Mayor (choose 1)',
      },
      es: {},
    },
  })

let browser: Browser
beforeAll(async () => {
  browser = await launch()
})
afterAll(() => browser.close())

it.each(FULL ? STATIONS : STATIONS.slice(0, 2))(
  'the %s station is worked by keyboard at 320 px, says what changed and has no accessibility violation',
  async (_name, station, events) => {
    const profile = listEquipmentProfiles()[0]!
    const { page, errors, close } = await openLesson(browser, {
      scenario: lessonOf(station),
      profile,
      mode: 'practice',
      locale: 'en',
    })
    for (const dark of [false, true]) {
      if (dark) await page.evaluate(() => document.documentElement.setAttribute('data-theme', 'dark'))
      const axe = await new AxeBuilder({ page }).disableRules(['page-has-heading-one', 'region']).analyze()
      expect(axe.violations.map((v) => `${v.id} ${v.nodes.map((n) => n.target)}`)).toEqual([])
    }
    let said = await page.locator('.play-live').textContent()
    for (const event of events) {
      await press(page, `[data-station-event="${JSON.stringify(event).replaceAll('"', '\\"')}"]`)
      await page.waitForFunction(
        (before) => document.querySelector('.play-live')?.textContent !== before,
        said,
      )
      said = await page.locator('.play-live').textContent()
      expect(said!.trim().length).toBeGreaterThan(0)
    }
    expect(await page.evaluate(() => window.server.log.length)).toBe(events.length)
    expect(await overflow(page)).toBe(0)
    // Every button is at least 56 px high.
    const heights = await page
      .locator('.play button')
      .evaluateAll((all) => all.map((b) => b.getBoundingClientRect().height))
    expect(Math.min(...heights)).toBeGreaterThanOrEqual(56)
    expect(errors).toEqual([])
    await close()
  },
)
