import type { EmptySeatReason } from './outcome'

export interface ReasonGroup {
  seats: number
  /** One plain sentence, about all of them. */
  reason: string
}

/** Why seats stay empty, seats of one reason together, the commonest first. Pure. */
export function groupReasons(empty: readonly EmptySeatReason[]): ReasonGroup[] {
  const groups = new Map<string, EmptySeatReason[]>()
  for (const seat of empty) {
    const key = seat.shared ?? seat.reason
    groups.set(key, [...(groups.get(key) ?? []), seat])
  }
  return [...groups]
    .map(([shared, seats]) => ({
      seats: seats.length,
      reason: seats.length === 1 ? seats[0]!.reason : shared,
    }))
    .sort((a, b) => b.seats - a.seats)
}
