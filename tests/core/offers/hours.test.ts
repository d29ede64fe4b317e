import { describe, expect, it } from 'vitest'
import { civilDate } from '@/lib/kernel/dates'
import type { WallTime } from '@/lib/kernel/wall-time'
import { dutyHours } from '@/lib/offers/core/hours'

const heldOn = civilDate('2028-11-07')
const rules = { arriveBefore: 60, leaveAfter: 90, changeAt: '13:00' as WallTime }
const day = { firstOn: null, lastOn: null, opensAt: '07:00', closesAt: '20:00' }
const early = { firstOn: '2028-10-25', lastOn: '2028-11-04', opensAt: '09:00', closesAt: '17:00' }

describe('duty hours', () => {
  it('begin before the doors open and end after they close', () => {
    expect(dutyHours([day], { on: heldOn, shift: 'full' }, heldOn, rules)).toMatchObject({
      from: '06:00',
      until: '21:30',
      opensAt: '07:00',
    })
  })
  it('hand over between the half days', () => {
    expect(dutyHours([day], { on: heldOn, shift: 'morning' }, heldOn, rules)).toMatchObject({
      from: '06:00',
      until: '13:00',
    })
    expect(dutyHours([day], { on: heldOn, shift: 'afternoon' }, heldOn, rules)).toMatchObject({
      from: '13:00',
      until: '21:30',
    })
  })
  it('take the hours of the day itself, the first and the last one among them', () => {
    for (const on of ['2028-10-25', '2028-11-04'])
      expect(dutyHours([day, early], { on: civilDate(on), shift: 'full' }, heldOn, rules)).toMatchObject({
        from: '08:00',
        until: '18:30',
      })
  })
  it('are not known where nothing says when the place is open', () => {
    expect(dutyHours([day, early], { on: civilDate('2028-11-05'), shift: 'full' }, heldOn, rules)).toBeNull()
    expect(dutyHours([], { on: heldOn, shift: 'full' }, heldOn, rules)).toBeNull()
  })
  it('stay within the day', () => {
    const late = { ...day, opensAt: '00:30', closesAt: '23:00' }
    expect(dutyHours([late], { on: heldOn, shift: 'full' }, heldOn, rules)).toMatchObject({
      from: '00:00',
      until: '23:59',
    })
  })
})
