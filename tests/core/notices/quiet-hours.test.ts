import { describe, expect, it } from 'vitest'
import type { WallTime } from '@/lib/kernel/wall-time'
import { quietHoursOf, quietUntil } from '@/lib/notices/core/quiet-hours'

const ZONE = 'America/Chicago'
const hours = (from: string, until: string) => ({ from: from as WallTime, until: until as WallTime })
const end = (h: ReturnType<typeof hours>, instant: string) =>
  quietUntil(h, new Date(instant), ZONE)?.toISOString() ?? null

describe('quiet hours', () => {
  it('over midnight last until the next morning on the county’s clocks', () => {
    const night = hours('21:00', '08:00')
    // Chicago in July is five hours behind UTC.
    expect(end(night, '2026-07-02T01:59:00Z')).toBeNull()
    expect(end(night, '2026-07-02T02:00:00Z')).toBe('2026-07-02T13:00:00.000Z')
    expect(end(night, '2026-07-02T12:59:00Z')).toBe('2026-07-02T13:00:00.000Z')
    expect(end(night, '2026-07-02T13:00:00Z')).toBeNull()
  })

  it('end at the right instant in the night in which the clocks change', () => {
    // Daylight time ends on 1 November 2026: at 8:00 Chicago is six hours behind UTC, not five.
    expect(end(hours('21:00', '08:00'), '2026-11-01T03:00:00Z')).toBe('2026-11-01T14:00:00.000Z')
  })

  it('within a day, and never where both are equal', () => {
    expect(end(hours('12:00', '14:00'), '2026-07-01T18:30:00Z')).toBe('2026-07-01T19:00:00.000Z')
    expect(end(hours('12:00', '14:00'), '2026-07-01T19:00:00Z')).toBeNull()
    expect(end(hours('08:00', '08:00'), '2026-07-01T13:00:00Z')).toBeNull()
  })

  it('are the county’s own where it has set some that can be read', () => {
    expect(quietHoursOf({ quietHours: { from: '20:00', until: '09:00' } })).toEqual(hours('20:00', '09:00'))
    for (const settings of [null, {}, { quietHours: { from: '8 pm', until: '09:00' } }])
      expect(quietHoursOf(settings)).toEqual(hours('21:00', '08:00'))
  })
})
