/** Where instants come from. Commands read it once and hand the value on; cores never do. */
export interface Clock {
  now(): Date
}

/** Shared by every copy of this module that a bundler makes. */
const shifted = globalThis as { readinessClockShiftMs?: number }

export const systemClock: Clock = {
  now: () => new Date(Date.now() + (shifted.readinessClockShiftMs ?? 0)),
}

/** From now on this process's clock runs as if it had read `start` when the process began. */
export function startClockAt(start: Date): void {
  shifted.readinessClockShiftMs = start.getTime() - performance.timeOrigin
}

/** A clock that starts at a given instant and runs at the usual pace. For tests and demonstrations. */
export function clockFrom(start: Date): Clock {
  const offset = start.getTime() - Date.now()
  return { now: () => new Date(Date.now() + offset) }
}
