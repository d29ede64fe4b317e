import { z } from 'zod'
import { appendAudit, STATE_CHAIN } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { findScenario, listScenarios } from './content'
import { planIn } from './queries-lesson-plan'

const PositionKey = z.string().regex(/^[a-z0-9-]{1,60}$/)

export const LessonPlanInput = z.object({
  position: PositionKey,
  /** Lesson ids; null goes back to what the office above has chosen. */
  lessons: z.array(z.string().max(60)).max(200).nullable(),
})

/** Chooses the lessons of a position for an office. @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT */
export async function setLessonsOfPosition(
  actor: Actor,
  countyId: string | null,
  { position, lessons }: z.output<typeof LessonPlanInput>,
): Promise<void> {
  assertCan(actor, 'changeCounty', countyId)
  const missing = lessons?.find((id) => !findScenario(id))
  if (missing !== undefined)
    throw new AppError('INVALID_INPUT', {
      userMessage: `There is no lesson “${missing}”. Open the page again and choose from its list.`,
    })
  // In the lessons' own order, so that the path goes from the simple to the rare.
  const ordered = lessons && listScenarios().flatMap(({ id }) => (lessons.includes(id) ? [id] : []))
  await transaction(async (tx) => {
    const where = countyId === null ? {} : { countyId }
    if (!(await tx.position.findFirst({ where: { ...where, key: position }, select: { id: true } })))
      throw new AppError('INVALID_INPUT', { userMessage: 'Choose one of the positions of the list.' })
    // The row is locked, so that two offices' clerks can't undo each other's position.
    const [row] =
      countyId === null
        ? await tx.$queryRaw<
            { id: string; settings: object }[]
          >`SELECT id, settings FROM "State" ORDER BY id LIMIT 1 FOR UPDATE`
        : await tx.$queryRaw<
            { id: string; settings: object }[]
          >`SELECT id, settings FROM "County" WHERE id = ${countyId} FOR UPDATE`
    if (!row) throw new AppError('NOT_FOUND', { userMessage: 'There is no such office.' })
    const { [position]: _before, ...others } = planIn(row.settings)
    const settings = { ...row.settings, lessonsOf: ordered ? { ...others, [position]: ordered } : others }
    if (countyId === null) await tx.state.update({ where: { id: row.id }, data: { settings } })
    else await tx.county.update({ where: { id: row.id }, data: { settings } })
    await appendAudit(
      tx,
      { chain: countyId ?? STATE_CHAIN, actorAccountId: actor.accountId, at: systemClock.now() },
      {
        event: 'county.settings-changed',
        subject: `county:${countyId ?? STATE_CHAIN}`,
        detail: { changed: [`lessonsOf.${position}`] },
      },
    )
  })
}
