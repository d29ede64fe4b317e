'use server'
import { z } from 'zod'
import { askForStatistics } from '@/lib/assessment/commands-statistics'
import { StopWorkInput, stopWork } from '@/lib/assessment/commands-work'
import { Id } from '@/lib/scenarios/schema'
import { defineAction } from '@/lib/web/define-action'

const QuizInput = z.object({ countyId: z.string().max(60), quizKey: Id })

export const refreshStatisticsAction = defineAction(QuizInput, async (actor, { countyId, quizKey }) => {
  await askForStatistics(actor, countyId, quizKey)
  return { goTo: `/training/${countyId}/quizzes/${quizKey}` }
})

export const stopWorkAction = defineAction(StopWorkInput, async (actor, input) => {
  await stopWork(actor, input)
  const base = `/training/${input.countyId}/quizzes/${input.quizKey}`
  return { goTo: input.kind === 'remark' ? `${base}/appeals` : base }
})
