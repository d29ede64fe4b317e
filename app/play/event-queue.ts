/** The log of a lesson on this device: kept in localStorage at once, sent to the server when there is a connection.
 *  The server's log decides; sending the same events twice is harmless because each batch says where it starts. */
import type { PlayEvent } from '@/lib/scenarios/schema'

export type SyncStatus = 'saved' | 'saving' | 'offline' | 'refused'

/** Throw this (or anything with `refused: true`) from `send` where trying again can't help. */
export class SyncRefused extends Error {
  readonly refused = true
}

export interface EventQueue {
  /** The whole log so far. */
  readonly events: readonly PlayEvent[]
  readonly status: SyncStatus
  add(event: PlayEvent): void
  /** Tries again now: on the browser's 'online'. */
  wake(): void
  /** Resolves when everything is acknowledged or refused. */
  settled(): Promise<void>
  stop(): void
  /** Forgets the copy on this device. */
  clear(): void
}

interface Stored {
  events: PlayEvent[]
  acknowledged: number
}

export interface QueueParts {
  storage: Pick<Storage, 'getItem' | 'setItem' | 'removeItem'> | null
  key: string
  /** The server's log, as the page was made. */
  initial: readonly PlayEvent[]
  /** Sends events, of which the first has index `from` in the log. Rejects where it isn't acknowledged. */
  send(events: readonly PlayEvent[], from: number): Promise<void>
  onChange(): void
  /** Most events in one sending; 200 unless told. */
  batch?: number
  /** Waits; replaced in tests. */
  delay?(ms: number): Promise<void>
}

const FIRST_WAIT_MS = 1_000
const LONGEST_WAIT_MS = 30_000
const BATCH = 200

const sameStart = (longer: readonly PlayEvent[], shorter: readonly PlayEvent[]): boolean =>
  longer.length >= shorter.length && shorter.every((e, i) => JSON.stringify(e) === JSON.stringify(longer[i]))

/** The log to go on with: this device's where it continues the server's, else the server's (another device went on). */
export function mergeLogs(server: readonly PlayEvent[], local: Stored | null): Stored {
  if (local && sameStart(local.events, server))
    return { events: [...local.events], acknowledged: server.length }
  return { events: [...server], acknowledged: server.length }
}

function readStored(parts: QueueParts): Stored | null {
  try {
    const stored = JSON.parse(parts.storage?.getItem(parts.key) ?? 'null') as Stored | null
    return stored && Array.isArray(stored.events) ? stored : null
  } catch {
    return null
  }
}

export function createEventQueue(parts: QueueParts): EventQueue {
  const delay = parts.delay ?? ((ms: number) => new Promise<void>((done) => setTimeout(done, ms)))
  const log = mergeLogs(parts.initial, readStored(parts))
  let status: SyncStatus = log.events.length > log.acknowledged ? 'saving' : 'saved'
  let running: Promise<void> | null = null
  let stopped = false
  let wakeUp: (() => void) | null = null

  const keep = () => {
    try {
      parts.storage?.setItem(parts.key, JSON.stringify(log))
    } catch {
      // A full or forbidden store only costs the copy on this device; the server's log still grows.
    }
  }
  const setStatus = (next: SyncStatus) => {
    if (status === next) return
    status = next
    parts.onChange()
  }
  const pump = async () => {
    let wait = FIRST_WAIT_MS
    while (!stopped && log.acknowledged < log.events.length) {
      const from = log.acknowledged
      const batch = log.events.slice(from, from + (parts.batch ?? BATCH))
      try {
        await parts.send(batch, from)
        log.acknowledged = from + batch.length
        wait = FIRST_WAIT_MS
        keep()
        if (log.acknowledged < log.events.length) setStatus('saving')
      } catch (problem) {
        if ((problem as { refused?: boolean } | null)?.refused) {
          setStatus('refused')
          return
        }
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
    if (status === 'refused') return
    running ??= pump().finally(() => {
      running = null
      if (!stopped && status !== 'refused' && log.acknowledged < log.events.length) run()
    })
  }
  keep()
  run()

  return {
    get events() {
      return log.events
    },
    get status() {
      return status
    },
    add(event) {
      log.events.push(event)
      keep()
      if (status === 'saved') setStatus('saving')
      run()
    },
    wake() {
      wakeUp?.()
      run()
    },
    async settled() {
      while (running) await running
    },
    stop() {
      stopped = true
      wakeUp?.()
    },
    clear() {
      try {
        parts.storage?.removeItem(parts.key)
      } catch {
        // Nothing to forget.
      }
    },
  }
}
