import { z } from 'zod'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db, type Tx } from '@/lib/db/client'
import { listScenarios, shippedLessonPlan } from './content'
import { type LessonPlan, lessonsOf, type PlanOrigin } from './core/lesson-plan'
import type { Scenario } from './schema'

const Kept = z.object({ lessonsOf: z.record(z.string(), z.array(z.string())).optional() }).catch({})
export const planIn = (settings: unknown): LessonPlan => Kept.parse(settings ?? {}).lessonsOf ?? {}
const known = (): ReadonlySet<string> => new Set(listScenarios().map((scenario) => scenario.id))

/** The lessons of a position in a county, in the order in which to play them. */
export async function lessonsOfPosition(tx: Tx, countyId: string, position: string): Promise<string[]> {
  const county = await tx.county.findUniqueOrThrow({
    where: { id: countyId },
    select: { settings: true, state: { select: { settings: true } } },
  })
  const plans = {
    county: planIn(county.settings),
    state: planIn(county.state.settings),
    shipped: shippedLessonPlan(),
  }
  return lessonsOf(position, plans, known()).lessons
}

export interface LessonPlanPage {
  positions: { key: string; name: string; origin: PlanOrigin; lessons: string[] }[]
  lessons: (Pick<Scenario, 'id' | 'number' | 'group' | 'minutes'> & { title: string })[]
}

/** What an office's page of lessons and positions shows (`countyId` null: the state office, whose choice counts where
 *  a county has none). @throws AppError NOT_FOUND, FORBIDDEN */
export async function getLessonPlan(actor: Actor, countyId: string | null): Promise<LessonPlanPage> {
  assertCan(actor, 'changeCounty', countyId)
  const [positions, county, state] = await Promise.all([
    db().position.findMany({
      where: countyId === null ? {} : { countyId },
      orderBy: [{ rank: 'asc' }, { key: 'asc' }],
      select: { key: true, nameEn: true },
    }),
    countyId === null ? null : db().county.findUniqueOrThrow({ where: { id: countyId } }),
    db().state.findFirst({ orderBy: { id: 'asc' } }),
  ])
  const plans = {
    county: planIn(county?.settings),
    state: planIn(state?.settings),
    shipped: shippedLessonPlan(),
  }
  const ids = known()
  const unique = [...new Map(positions.map((position) => [position.key, position])).values()]
  return {
    positions: unique.map(({ key, nameEn }) => ({ key, name: nameEn, ...lessonsOf(key, plans, ids) })),
    lessons: listScenarios().map((scenario) => ({
      id: scenario.id,
      number: scenario.number,
      group: scenario.group,
      minutes: scenario.minutes,
      title: scenario.texts.en.title ?? scenario.id,
    })),
  }
}
