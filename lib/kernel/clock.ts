/** Where instants come from. Commands read it once and hand the value on; cores never do. */
export interface Clock {
  now(): Date
}

export const systemClock: Clock = { now: () => new Date() }

/** A clock that starts at a given instant and runs at the usual pace. For tests and demonstrations. */
export function clockFrom(start: Date): Clock {
  const offset = start.getTime() - Date.now()
  return { now: () => new Date(Date.now() + offset) }
}
