import ICAL from 'ical.js'
import { describe, expect, it } from 'vitest'
import { civilDate } from '@/lib/kernel/dates'
import type { WallTime } from '@/lib/kernel/wall-time'
import { calendarOf } from '@/lib/offers/core/calendar'
import { calendarFile } from '@/lib/papers/calendar'
import { inTwoZones } from '../kernel/two-zones'

const hours = (from: string, until: string) => ({
  from: from as WallTime,
  until: until as WallTime,
  opensAt: '06:30' as WallTime,
  closesAt: '20:00' as WallTime,
})
const offer = {
  id: '0199',
  sequence: 2,
  timeZone: 'America/New_York',
  electionName: 'General election',
  position: 'Check-in',
  on: civilDate('2028-11-07'),
  hours: hours('05:30', '21:00'),
  place: { name: 'Hall 1', address: '1 Grove Street, Ashgrove' },
  office: { name: 'Ashgrove County', officePhone: '555-0177' },
}
const read = (of: Parameters<typeof calendarOf>[0]) =>
  new ICAL.Event(
    new ICAL.Component(
      ICAL.parse(calendarFile(calendarOf(of, 'en', { url: null, at: new Date('2028-10-01T00:00:00Z') }))),
    ).getFirstSubcomponent('vevent')!,
  )

inTwoZones('calendars', () => {
  describe('the calendar file of a day’s work, read by a second program (ical.js)', () => {
    it('means the county’s wall clock: in November New York is five hours behind UTC', () => {
      const event = read(offer)
      expect(event.startDate.toJSDate().toISOString()).toBe('2028-11-07T10:30:00.000Z')
      expect(event.endDate.toJSDate().toISOString()).toBe('2028-11-08T02:00:00.000Z')
      expect(event.location).toBe('Hall 1, 1 Grove Street, Ashgrove')
      expect(event.summary).toBe('Work at the polls: Check-in')
    })
    it('is four hours behind in October, for an early-voting day', () => {
      const event = read({ ...offer, on: civilDate('2028-10-27') })
      expect(event.startDate.toJSDate().toISOString()).toBe('2028-10-27T09:30:00.000Z')
    })
    it('is a whole day, and no other one, where the hours aren’t known', () => {
      const event = read({ ...offer, hours: null })
      expect(event.startDate.isDate).toBe(true)
      expect(event.startDate.toString()).toBe('2028-11-07')
      expect(event.endDate.toString()).toBe('2028-11-08')
    })
  })
})
