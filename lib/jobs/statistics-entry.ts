/** A thread that works out a quiz's statistics (see thread.ts). */
import { parentPort, workerData } from 'node:worker_threads'
import { quizReport } from '@/lib/assessment/core/quiz-report'
import type { StatisticsWork } from './quiz-statistics'

const send = (message: object) => parentPort!.postMessage(message)
try {
  send({ kind: 'result', result: quizReport((workerData as StatisticsWork).input) })
} catch (error) {
  const { name, message } = error as Error
  send({ kind: 'failed', name, message })
}
