'use server'
import { z } from 'zod'
import { startLesson } from '@/lib/scenarios/commands'
import { Id } from '@/lib/scenarios/schema'
import { defineAction } from '@/lib/web/define-action'
import { preferences } from '@/lib/web/preferences'

export const startLessonAction = defineAction(z.object({ key: Id }), async (actor, { key }) => {
  const { locale } = await preferences()
  const { attemptId } = await startLesson(actor, key, locale)
  return { goTo: `/lessons/${key}/play/${attemptId}` }
})
