/** What a trainer's tablet wrote down and the server has not taken yet. Unlike a lesson's log (app/play/event-queue.ts)
 *  these are records of their own, so each lies in localStorage under its own name: two tabs of one tablet can't lose
 *  each other's, and a record that is sent twice counts once by its key. */
import type { RecordOutcome, RoomRecord } from '@/lib/classes/schema'

export type RoomStatus = 'saved' | 'saving' | 'offline' | 'signed-out'

export interface RoomEntry {
  countyId: string
  record: RoomRecord
  /** Order on this tablet. */
  n: number
  /** Why the server did not take it; it is shown until somebody has seen it, and not sent again. */
  refused?: string
}

/** Throw this from `send` where the sign-in has ended: nothing is lost, it goes on after the next sign-in. */
export class SignedOut extends Error {}

export interface RoomQueueParts {
  storage: Storage | null
  /** One queue for each account: another trainer on the same tablet neither sees nor sends it. */
  account: string
  send(countyId: string, records: RoomRecord[]): Promise<RecordOutcome[]>
  onChange(): void
  delay?(ms: number): Promise<void>
}

const FIRST_WAIT_MS = 1_000
const LONGEST_WAIT_MS = 30_000
const BATCH = 50

export interface RoomQueue {
  readonly status: RoomStatus
  /** Everything that is kept here, in order: waiting and refused. */
  entries(): RoomEntry[]
  /** Records that the server took since the page was opened, in order. */
  readonly taken: readonly RoomRecord[]
  add(countyId: string, record: RoomRecord): void
  /** A refusal was seen. */
  dismiss(key: string): void
  wake(): void
  settled(): Promise<void>
  stop(): void
}

export function createRoomQueue(parts: RoomQueueParts): RoomQueue {
  const delay = parts.delay ?? ((ms: number) => new Promise<void>((done) => setTimeout(done, ms)))
  const prefix = `room:${parts.account}:`
  /** Where the browser refuses to store, this page's memory must do. */
  const memory = new Map<string, string>()
  const taken: RoomRecord[] = []
  let status: RoomStatus = 'saved'
  let running: Promise<void> | null = null
  let stopped = false
  let wakeUp: (() => void) | null = null

  const put = (entry: RoomEntry) => {
    const text = JSON.stringify(entry)
    try {
      if (!parts.storage) throw new Error('no storage')
      parts.storage.setItem(prefix + entry.record.key, text)
    } catch {
      memory.set(entry.record.key, text)
    }
  }
  const drop = (key: string) => {
    memory.delete(key)
    try {
      parts.storage?.removeItem(prefix + key)
    } catch {
      // It was never stored.
    }
  }
  const entries = (): RoomEntry[] => {
    const texts = [...memory.values()]
    try {
      for (let i = 0; parts.storage && i < parts.storage.length; i++) {
        const name = parts.storage.key(i)
        if (name?.startsWith(prefix)) texts.push(parts.storage.getItem(name) ?? '')
      }
    } catch {
      // Only the memory is left.
    }
    return texts
      .flatMap((text): RoomEntry[] => {
        try {
          return [JSON.parse(text) as RoomEntry]
        } catch {
          return []
        }
      })
      .sort((a, b) => a.n - b.n)
  }
  const waiting = () => entries().filter((entry) => entry.refused === undefined)
  const setStatus = (next: RoomStatus) => {
    status = next
    parts.onChange()
  }

  const pump = async () => {
    let wait = FIRST_WAIT_MS
    for (let open = waiting(); open.length > 0 && !stopped; open = waiting()) {
      const county = open[0]!.countyId
      const end = open.findIndex((entry) => entry.countyId !== county)
      const batch = open.slice(0, Math.min(BATCH, end === -1 ? open.length : end))
      try {
        const outcomes = await parts.send(
          county,
          batch.map((entry) => entry.record),
        )
        const byKey = new Map(outcomes.map((outcome) => [outcome.key, outcome]))
        if (batch.some((entry) => !byKey.has(entry.record.key)))
          throw new Error('the answer leaves records out')
        for (const entry of batch) {
          const outcome = byKey.get(entry.record.key)
          if (outcome?.status === 'refused') put({ ...entry, refused: outcome.message ?? '' })
          else if (outcome) {
            drop(entry.record.key)
            taken.push(entry.record)
          }
        }
        wait = FIRST_WAIT_MS
        parts.onChange()
      } catch (problem) {
        if (problem instanceof SignedOut) return setStatus('signed-out')
        setStatus('offline')
        const woken = new Promise<void>((done) => {
          wakeUp = done
        })
        await Promise.race([delay(wait), woken])
        wakeUp = null
        wait = Math.min(2 * wait, LONGEST_WAIT_MS)
      }
    }
    if (!stopped) setStatus('saved')
  }
  const run = () => {
    if (stopped) return
    running ??= pump().finally(() => {
      running = null
    })
  }

  return {
    get status() {
      return status
    },
    taken,
    entries,
    add(countyId, record) {
      const last = entries().at(-1)?.n ?? 0
      put({ countyId, record, n: Math.max(last + 1, Date.now()) })
      if (status === 'saved') status = 'saving'
      parts.onChange()
      if (running) wakeUp?.()
      else run()
    },
    dismiss(key) {
      drop(key)
      parts.onChange()
    },
    wake() {
      if (running) wakeUp?.()
      else if (waiting().length > 0) run()
    },
    async settled() {
      while (running) await running
    },
    stop() {
      stopped = true
      wakeUp?.()
    },
  }
}
