/** A thread that works out a quiz's statistics (see thread.ts). */
import { parentPort, workerData } from 'node:worker_threads'
import { quizReport } from '@/lib/assessment/core/quiz-report'
import type { StatisticsWork } from './quiz-statistics'

const PAUSE_MS = 200

const send = (message: object) => parentPort!.postMessage(message)
let told = 0
try {
  const result = quizReport((workerData as StatisticsWork).input, (step, share) => {
    const now = performance.now()
    if (now - told < PAUSE_MS) return
    told = now
    send({ kind: 'progress', progress: { step, share } })
  })
  send({ kind: 'result', result })
} catch (error) {
  const { name, message } = error as Error
  send({ kind: 'failed', name, message })
}
