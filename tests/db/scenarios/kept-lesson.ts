/** The lesson as it was when these tests were written: shipped lessons may be reworded without touching them. */
import { readFileSync } from 'node:fs'
import { Scenario } from '@/lib/scenarios/schema'

export const KEPT_LESSON = Scenario.parse(
  JSON.parse(readFileSync(new URL('./card-returned.json', import.meta.url), 'utf8')),
)
const kept = { scenario: KEPT_LESSON, hash: 'kept' }

/** For `vi.mock('@/lib/scenarios/content', …)`. */
export const withKeptLesson = <M extends object>(real: M) => ({
  ...real,
  findScenario: (id: string) => (id === KEPT_LESSON.id ? kept : null),
  listScenarios: () => [KEPT_LESSON],
})
