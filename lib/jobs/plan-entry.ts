/** A thread that explains empty seats and plans the training (see thread.ts). */
import { parentPort, workerData } from 'node:worker_threads'
import { explainAndPlan, type PlanInput } from '@/lib/roster/plan'

const send = (message: object) => parentPort!.postMessage(message)
try {
  const { input } = workerData as { input: PlanInput }
  const result = explainAndPlan(input, (progress) => send({ kind: 'progress', progress }))
  send({ kind: 'result', result })
} catch (error) {
  const { name, message } = error as Error
  send({ kind: 'failed', name, message })
}
