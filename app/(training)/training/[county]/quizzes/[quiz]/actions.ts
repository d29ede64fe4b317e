'use server'
import { z } from 'zod'
import { askForStatistics } from '@/lib/assessment/commands-statistics'
import { Id } from '@/lib/scenarios/schema'
import { defineAction } from '@/lib/web/define-action'

const QuizInput = z.object({ countyId: z.string().max(60), quizKey: Id })

export const refreshStatisticsAction = defineAction(QuizInput, async (actor, { countyId, quizKey }) => {
  await askForStatistics(actor, countyId, quizKey)
  return { goTo: `/training/${countyId}/quizzes/${quizKey}` }
})
