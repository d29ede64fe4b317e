/** The worker thread's side of plan-thread.ts. */
import { parentPort, workerData } from 'node:worker_threads'
import { explainAndPlan, type PlanInput } from '@/lib/roster/plan'
import type { PlanMessage } from './plan-thread'

const send = (message: PlanMessage) => parentPort!.postMessage(message)
try {
  send({
    kind: 'found',
    found: explainAndPlan(workerData as PlanInput, (share) => send({ kind: 'progress', share })),
  })
} catch (error) {
  send({ kind: 'failed', message: (error as Error).message })
}
