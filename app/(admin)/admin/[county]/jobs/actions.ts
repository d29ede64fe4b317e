'use server'
import { z } from 'zod'
import { JobInput, removeJob, retryJob } from '@/lib/queue/commands'
import { defineAction } from '@/lib/web/define-action'
import { countyIdOf } from '../../../parts/office'

const Input = JobInput.extend({ county: z.string().min(1).max(100).transform(countyIdOf) })

export const retryJobAction = defineAction(Input, async (actor, { county, jobId }) => {
  await retryJob(actor, county, jobId)
  return { message: 'The job runs again now.' }
})

export const removeJobAction = defineAction(Input, async (actor, { county, jobId }) => {
  await removeJob(actor, county, jobId)
  return { message: 'The job is out of the queue.' }
})
