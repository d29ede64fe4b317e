import { afterAll, beforeAll, describe, expect, it } from 'vitest'

/** Runs a block of tests with the process's own time zone far east and far west, and shows that it took effect:
 *  a civil date must not depend on where the machine stands. */
export function inTwoZones(name: string, tests: () => void): void {
  describe.each([
    { zone: 'Pacific/Kiritimati', minutes: -840 },
    { zone: 'America/Los_Angeles', minutes: 480 },
  ])(`${name}, in $zone`, ({ zone, minutes }) => {
    const before = process.env.TZ
    beforeAll(() => {
      process.env.TZ = zone
    })
    afterAll(() => {
      if (before === undefined) delete process.env.TZ
      else process.env.TZ = before
    })
    it('runs in that zone', () => expect(new Date('2026-01-15T00:00:00Z').getTimezoneOffset()).toBe(minutes))
    tests()
  })
}
