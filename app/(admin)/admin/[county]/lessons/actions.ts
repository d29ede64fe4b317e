'use server'
import { z } from 'zod'
import { LessonPlanInput, setLessonsOfPosition } from '@/lib/scenarios/commands-lesson-plan'
import { defineAction } from '@/lib/web/define-action'
import { countyIdOf } from '../../../parts/office'

const Form = z.object({
  county: z.string().min(1).max(100).transform(countyIdOf),
  position: LessonPlanInput.shape.position,
  lessons: z.array(z.string()).default([]),
  choice: z.enum(['own', 'above']),
})

export const lessonPlanAction = defineAction(Form, async (actor, { county, position, lessons, choice }) => {
  await setLessonsOfPosition(actor, county, { position, lessons: choice === 'own' ? lessons : null })
  return {
    message:
      choice === 'own'
        ? `Saved: ${lessons.length} lessons. People who want this position see them on their path at once.`
        : 'This position follows the choice of the office above again.',
  }
})
