/** A thread that looks for records of one person (see thread.ts). */
import { parentPort, workerData } from 'node:worker_threads'
import { likelyPairs } from '@/lib/people/core/duplicates'
import type { PairsWork } from './likely-pairs'

const send = (message: object) => parentPort!.postMessage(message)
try {
  send({ kind: 'result', result: likelyPairs((workerData as PairsWork).people) })
} catch (error) {
  const { name, message } = error as Error
  send({ kind: 'failed', name, message })
}
