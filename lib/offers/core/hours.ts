/** When somebody has to be at a place, on the wall clock, from when it is open to voters. */
import type { CivilDate } from '@/lib/kernel/dates'
import type { WallTime } from '@/lib/kernel/wall-time'

export interface OpeningFacts {
  /** Both null: the election's own day. */
  firstOn: string | null
  lastOn: string | null
  opensAt: string
  closesAt: string
}

export interface DutyRules {
  /** Minutes before the doors open, and after they close. */
  arriveBefore: number
  leaveAfter: number
  /** When the morning's people hand over to the afternoon's. */
  changeAt: WallTime
}

export interface DutyHours {
  from: WallTime
  until: WallTime
  opensAt: WallTime
  closesAt: WallTime
}

const minutesOf = (time: string) => Number(time.slice(0, 2)) * 60 + Number(time.slice(3, 5))
const wallTime = (minutes: number): WallTime => {
  const inDay = Math.min(24 * 60 - 1, Math.max(0, minutes))
  return `${String(Math.floor(inDay / 60)).padStart(2, '0')}:${String(inDay % 60).padStart(2, '0')}` as WallTime
}

/** The hours that a place is open on a day: hours for named days go before those of the election's own day.
 *  Null: not known. */
export const openingOn = (
  openings: readonly OpeningFacts[],
  on: CivilDate,
  heldOn: CivilDate,
): OpeningFacts | null =>
  openings.find((o) => o.firstOn !== null && o.firstOn <= on && on <= (o.lastOn ?? o.firstOn)) ??
  (on === heldOn ? (openings.find((o) => o.firstOn === null) ?? null) : null)

/** From when until when a shift lasts; never past midnight. Null where the place's hours aren't known. */
export function dutyHours(
  openings: readonly OpeningFacts[],
  seat: { on: CivilDate; shift: string },
  heldOn: CivilDate,
  rules: DutyRules,
): DutyHours | null {
  const open = openingOn(openings, seat.on, heldOn)
  if (!open) return null
  const arrive = wallTime(minutesOf(open.opensAt) - rules.arriveBefore)
  const leave = wallTime(minutesOf(open.closesAt) + rules.leaveAfter)
  return {
    from: seat.shift === 'afternoon' ? rules.changeAt : arrive,
    until: seat.shift === 'morning' ? rules.changeAt : leave,
    opensAt: open.opensAt as WallTime,
    closesAt: open.closesAt as WallTime,
  }
}
