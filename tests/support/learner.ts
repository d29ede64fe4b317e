/** A person at a lesson or a quiz, in a browser, who knows the right way. */
import { readFileSync } from 'node:fs'
import type { Page } from 'playwright-core'
import { expect } from 'vitest'
import { findEquipmentProfile, findScenario } from '@/lib/scenarios/content'
import { exploreLesson } from '@/lib/scenarios/core/explore'
import { soundPath } from '@/lib/scenarios/core/range'
import { replay } from '@/lib/scenarios/core/replay'
import { transition } from '@/lib/scenarios/core/transition'
import type { PlayEvent } from '@/lib/scenarios/schema'
import { perform } from '@/tests/content/player/keyboard'
import { withClient } from './visitor'

/** Plays the returned card to its good end. Graded, it sees no answer on the way. */
export async function playThrough(page: Page, profileKey: string, graded: boolean): Promise<void> {
  const { scenario } = findScenario('card-returned')!
  const profile = findEquipmentProfile(profileKey)!
  const path = soundPath(exploreLesson(scenario, profile))!
  let state = replay(scenario, profile, []).state
  await page.locator('.play').waitFor()
  for (const event of path as PlayEvent[]) {
    await perform(page, event, state.order)
    const next = transition(scenario, profile, state, event)
    state = next.state
    if (!next.left) continue
    if (!graded && (await page.locator('.play[data-screen=why]').count()) > 0)
      await page.locator('[data-go-on]').click()
    // In graded play the end says nothing, not even which end it is.
    if (graded && scenario.steps.some((step) => step.id === state.step && step.kind === 'end'))
      await page.locator('main .notice[role=status]').waitFor()
    else await page.locator(`.play[data-step="${state.step}"][data-screen=now]`).waitFor()
  }
}

/** Sits the quiz on the basics and hands it in: one question a page, every answer right. The key is known to the test
 *  from the content, never from the page. Returns what the page of the result says. */
export async function sitQuiz(page: Page, product: { url: string; databaseUrl: string }): Promise<string> {
  const { url, databaseUrl } = product
  await page.goto(`${url}/quiz/polls-basics`)
  await page.locator('main form button[type=submit]').click()
  await page.waitForURL(/\/quiz\/sit\//)
  const attemptId = new URL(page.url()).pathname.split('/')[3]!
  const { rows } = await withClient(databaseUrl, (client) =>
    client.query(`SELECT "equipmentProfile" FROM "Attempt" WHERE id = $1`, [attemptId]),
  )
  const key = answerKey()
  for (let n = 1; ; n++) {
    await page.goto(`${url}/quiz/sit/${attemptId}/${n}`)
    const of = Number(/Question \d+ of (\d+)/.exec(await page.locator('h1').innerText())![1])
    const html = await page.content()
    expect(html).not.toMatch(/"right"|judgement|explanation/)
    if ((await page.locator('.play').count()) > 0) {
      await playThrough(page, rows[0].equipmentProfile, true)
    } else {
      await answer(page, key)
      await page.locator('main .sit-foot button[value=next]').click()
      await page.waitForURL((to) => !to.pathname.endsWith(`/${n}`))
    }
    if (n === of) break
  }
  await page.goto(`${url}/quiz/sit/${attemptId}/review`)
  await page.getByRole('button', { name: 'Hand in the quiz' }).click()
  await page.waitForURL(/\/quiz\/result\//)
  return page.locator('main').innerText()
}

interface Question {
  id: string
  kind: string
  version: number
  options?: { id: string; right: boolean }[]
  areas?: { id: string; right: boolean }[]
  items?: { id: string }[]
  answer?: number
  texts: { en: { stem: string } }
}

/** Stem → question, read from the content files. */
function answerKey(): Map<string, Question> {
  const files = [
    'access-setup',
    'accounting',
    'card-handling',
    'check-in',
    'display-settings',
    'notices-without-steering',
    'order-and-safety',
    'right-ballot',
    'verify-and-cast',
  ]
  const all = files.flatMap(
    (file) =>
      (JSON.parse(readFileSync(`content/questions/${file}.json`, 'utf8')) as { questions: Question[] })
        .questions,
  )
  return new Map(all.map((question) => [question.texts.en.stem.replaceAll(/\s+/g, ' '), question]))
}

async function answer(page: Page, key: Map<string, Question>): Promise<void> {
  const shown = (await page.locator('main').innerText()).replaceAll(/\s+/g, ' ')
  const question = [...key.values()].find((q) => shown.includes(q.texts.en.stem.replaceAll(/\s+/g, ' ')))
  if (!question) throw new Error(`no question fits: ${shown.slice(0, 300)}`)
  for (const option of [...(question.options ?? []), ...(question.areas ?? [])])
    if (option.right) await page.locator(`[name="chosen[]"][value="${option.id}"]`).check()
  for (const [i, item] of (question.kind === 'order' ? (question.items ?? []) : []).entries())
    await page.locator(`[name="place-${item.id}"]`).selectOption(String(i + 1))
  if (question.answer !== undefined) await page.locator('[name=number]').fill(String(question.answer))
}
