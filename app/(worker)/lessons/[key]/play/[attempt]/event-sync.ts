/** Sends the events of a lesson to the server as they are played, keeps what isn't sent yet on the device, and tries
 *  again until it is. The server's log decides. */
import type { PlayEvent } from '@/lib/scenarios/schema'

export type SyncState = 'saved' | 'saving' | 'offline' | 'other-device' | 'signed-out'

export interface SyncParts {
  attemptId: string
  /** Events that the server has. */
  stored: number
  log: PlayEvent[]
  onState: (state: SyncState, finished: boolean) => void
  storage: Storage | null
  send?: typeof fetch
}

const keyOf = (attemptId: string) => `lesson-log:${attemptId}`
const LONGEST_WAIT_MS = 20_000
/** The server takes 500 at a time. */
const BATCH = 400

const sameStart = (a: readonly PlayEvent[], b: readonly PlayEvent[]) =>
  a.every((event, i) => JSON.stringify(event) === JSON.stringify(b[i]))

/** The log to go on with: what this device kept, where it continues the server's; else the server's. */
export function logToGoOnWith(
  attemptId: string,
  stored: PlayEvent[],
  storage: Storage | null,
): PlayEvent[] {
  try {
    const kept = JSON.parse(storage?.getItem(keyOf(attemptId)) ?? '[]') as PlayEvent[]
    if (kept.length > stored.length && sameStart(stored, kept)) return kept
  } catch {
    // A broken or forbidden storage only means that there is nothing to add.
  }
  return stored
}

export class EventSync {
  private stored: number
  private readonly log: PlayEvent[]
  private busy = false
  private ended = false
  private waitMs = 1_000
  private timer: ReturnType<typeof setTimeout> | undefined

  constructor(private readonly parts: SyncParts) {
    this.stored = parts.stored
    this.log = [...parts.log]
  }

  /** The whole log as the player has it now. */
  update(log: readonly PlayEvent[]): void {
    if (this.ended || log.length <= this.log.length) return
    this.log.push(...log.slice(this.log.length))
    this.keep()
    void this.flush()
  }

  /** Tries at once: after a click, when the connection comes back, when the page is hidden. */
  async flush(): Promise<void> {
    if (this.busy || this.ended || this.stored >= this.log.length) return
    this.busy = true
    clearTimeout(this.timer)
    this.parts.onState('saving', false)
    const from = this.stored
    const events = this.log.slice(from, from + BATCH)
    let again = false
    try {
      const answer = await (this.parts.send ?? fetch)(`/api/attempts/${this.parts.attemptId}/events`, {
        method: 'POST',
        headers: { 'Content-Type': 'application/json' },
        body: JSON.stringify({ from, events }),
        keepalive: true,
      })
      if (answer.ok) {
        const { count, finished } = (await answer.json()) as { count: number; finished: boolean }
        this.stored = Math.max(this.stored, Math.min(count, this.log.length))
        this.waitMs = 1_000
        if (finished) this.forget()
        this.parts.onState('saved', finished)
      } else if (answer.status === 401 || answer.status === 404) {
        this.parts.onState('signed-out', false)
        return
      } else if (answer.status === 409) {
        const { events: theirs } = (await answer.json()) as { events: PlayEvent[] }
        if (theirs.length < this.log.length && sameStart(theirs, this.log)) this.stored = theirs.length
        else {
          this.forget()
          this.ended = true
          this.parts.onState('other-device', false)
          return
        }
      } else again = true
    } catch {
      again = true
    } finally {
      this.busy = false
    }
    if (again) {
      this.parts.onState('offline', false)
      this.timer = setTimeout(() => void this.flush(), this.waitMs)
      this.waitMs = Math.min(LONGEST_WAIT_MS, this.waitMs * 2)
    } else void this.flush()
  }

  stop(): void {
    clearTimeout(this.timer)
  }

  private keep(): void {
    try {
      this.parts.storage?.setItem(keyOf(this.parts.attemptId), JSON.stringify(this.log))
    } catch {
      // Full or forbidden: the connection alone must do.
    }
  }

  private forget(): void {
    try {
      this.parts.storage?.removeItem(keyOf(this.parts.attemptId))
    } catch {
      // Nothing was kept, then.
    }
  }
}
