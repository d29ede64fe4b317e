import ICAL from 'ical.js'
import { describe, expect, it } from 'vitest'
import type { CivilDate } from '@/lib/kernel/dates'
import { instantAt, isWallTime, type WallTime, wallTimeAt } from '@/lib/kernel/wall-time'
import { calendarFile } from '@/lib/papers/calendar'

const ZONE = 'America/Chicago'
const at = (on: string, time: string) => instantAt(on as CivilDate, time as WallTime, ZONE)
const event = {
  uid: 'class-1@readiness.invalid',
  sequence: 2,
  startsAt: at('2026-10-06', '18:00'),
  endsAt: at('2026-10-06', '20:30'),
  stampedAt: new Date('2026-09-01T12:00:00Z'),
  title: 'Clase para encargados; salón 2, planta baja',
  place: 'Hall, 14 Mill Road',
  description: 'Trainer: T\nBring the card',
  url: 'https://example.org/classes/1',
  cancelled: false,
  alarmMinutes: 1440,
}

describe('a calendar file, read by a second program (ical.js)', () => {
  it('says the same times, text and place, and reminds a day before', () => {
    const calendar = new ICAL.Component(ICAL.parse(calendarFile(event)))
    const read = new ICAL.Event(calendar.getFirstSubcomponent('vevent')!)
    // 6 October is in daylight time: Chicago is five hours behind UTC.
    expect(read.startDate.toJSDate().toISOString()).toBe('2026-10-06T23:00:00.000Z')
    expect(read.endDate.toJSDate().toISOString()).toBe('2026-10-07T01:30:00.000Z')
    expect(read.summary).toBe(event.title)
    expect(read.location).toBe(event.place)
    expect(read.description).toBe(event.description)
    expect(read.uid).toBe(event.uid)
    expect(read.sequence).toBe(2)
    const alarm = read.component.getFirstSubcomponent('valarm')!
    expect((alarm.getFirstPropertyValue('trigger') as ICAL.Duration).toSeconds()).toBe(-86_400)
    expect(calendar.getFirstPropertyValue('version')).toBe('2.0')
  })

  it('takes a cancelled class out of the calendar', () => {
    const calendar = new ICAL.Component(ICAL.parse(calendarFile({ ...event, cancelled: true, sequence: 3 })))
    expect(calendar.getFirstPropertyValue('method')).toBe('CANCEL')
    expect(calendar.getFirstSubcomponent('vevent')!.getFirstPropertyValue('status')).toBe('CANCELLED')
  })

  it('has lines of at most 75 octets that end in CRLF (RFC 5545, 3.1)', () => {
    const text = calendarFile({ ...event, description: 'á'.repeat(300) })
    expect(text.replaceAll('\r\n', '')).not.toMatch(/[\r\n]/)
    for (const line of text.split('\r\n')) expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75)
  })
})

describe('wall time', () => {
  it('goes to an instant and back, in summer and in winter', () => {
    // United States: daylight time ends on 1 November 2026 at 2:00 (15 U.S.C. 260a).
    expect(at('2026-10-31', '18:00').toISOString()).toBe('2026-10-31T23:00:00.000Z')
    expect(at('2026-11-01', '18:00').toISOString()).toBe('2026-11-02T00:00:00.000Z')
    expect(wallTimeAt(new Date('2026-11-02T00:00:00Z'), ZONE)).toEqual({ date: '2026-11-01', time: '18:00' })
  })

  it('takes the first of two equal times, and moves a skipped one on', () => {
    expect(at('2026-11-01', '01:30').toISOString()).toBe('2026-11-01T06:30:00.000Z')
    // 8 March 2026, 2:30 does not exist there.
    expect(wallTimeAt(at('2026-03-08', '02:30'), ZONE).time).toBe('03:30')
  })

  it('is written with two digits and 24 hours', () => {
    expect(['00:00', '23:59'].every(isWallTime)).toBe(true)
    expect(['24:00', '9:00', '12:60', '', null].some(isWallTime)).toBe(false)
  })
})
