/** A thread that writes one file of a county's packet (see thread.ts). */
import { parentPort, workerData } from 'node:worker_threads'
import type { PacketGround } from '@/lib/roster/papers/ground'
import { type PaperPart, writePart } from '@/lib/roster/papers/write-part'

const send = (message: object) => parentPort!.postMessage(message)
try {
  const { ground, part } = workerData as { ground: PacketGround; part: PaperPart }
  send({ kind: 'result', result: await writePart(ground, part) })
} catch (error) {
  const { name, message } = error as Error
  send({ kind: 'failed', name, message })
}
