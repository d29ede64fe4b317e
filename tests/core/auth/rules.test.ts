import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { deviceName } from '@/lib/auth/core/device-name'
import { expiryOf, grantsOpenedBy, isAlive } from '@/lib/auth/core/lifetimes'
import { lastForwarded, senderOf } from '@/lib/auth/core/network-address'
import { safeNextPath } from '@/lib/auth/core/next-path'
import { passwordFault } from '@/lib/auth/core/password-rules'

describe('where to go after signing in', () => {
  it('keeps a path of our own', () => {
    for (const path of ['/path', '/admin/larkmoor/audit?event=roster.#top', '/a//b'])
      expect(safeNextPath(path)).toBe(path)
  })

  it.each([
    'https://other.example/',
    '//other.example',
    '/\\other.example',
    '\\\\other.example',
    '/\t/other.example',
    '/\n/other.example',
    '/..//other.example',
    '/.//other.example',
    'javascript:alert(1)',
    ' //other.example',
    'path',
    '',
    '/sign-out',
    '/sign-in?next=/',
    '/api/auth/signout',
    '/x/../sign-out',
    undefined,
    ['/path'],
  ])('leads %j to the first page', (asked) => {
    expect(safeNextPath(asked)).toBe('/')
  })

  it('never leaves our site, whatever is asked (the URL parser of browsers decides)', () => {
    const piece = fc.constantFrom(
      '/',
      '\\',
      '.',
      ':',
      '@',
      '?',
      '#',
      '%',
      'a',
      ' ',
      '\t',
      '\n',
      '%2f',
      '//',
      '..',
      'http',
    )
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 12 }), (pieces) => {
        const target = safeNextPath(pieces.join(''))
        expect(new URL(target, 'https://office.example').origin).toBe('https://office.example')
      }),
      { numRuns: 3000 },
    )
  })
})

describe('how long a sign-in lasts', () => {
  const start = new Date('2028-10-01T08:00:00Z')
  const minute = (minutes: number) => new Date(start.getTime() + minutes * 60_000)

  it('is 12 hours for staff, 30 days for a poll worker, 12 hours at most on a shared tablet', () => {
    expect(expiryOf({ staff: true, sharedTablet: false }, start)).toEqual(new Date('2028-10-01T20:00:00Z'))
    expect(expiryOf({ staff: false, sharedTablet: false }, start)).toEqual(new Date('2028-10-31T08:00:00Z'))
    expect(expiryOf({ staff: false, sharedTablet: true }, start)).toEqual(new Date('2028-10-01T20:00:00Z'))
  })

  it('ends on a shared tablet half an hour after the last page, and at its end elsewhere', () => {
    const signIn = { expiresAt: minute(720), endedAt: null, lastSeenAt: start, sharedTablet: true }
    expect(isAlive(signIn, minute(29.99))).toBe(true)
    expect(isAlive(signIn, minute(30))).toBe(false)
    expect(isAlive({ ...signIn, sharedTablet: false }, minute(719.99))).toBe(true)
    expect(isAlive({ ...signIn, sharedTablet: false }, minute(720))).toBe(false)
    expect(isAlive({ ...signIn, endedAt: start }, start)).toBe(false)
  })

  it('opens the office only by password', () => {
    const grants = [{ access: 'administrator' }, { access: 'pollWorker' }]
    expect(grantsOpenedBy('password', grants)).toEqual(grants)
    for (const method of ['card', 'mail-code', 'anything'])
      expect(grantsOpenedBy(method, grants)).toEqual([{ access: 'pollWorker' }])
  })
})

describe('one sender', () => {
  it('is an IPv4 address, also when it is written as IPv6 (RFC 4291, 2.5.5.2)', () => {
    expect(senderOf('192.0.2.7')).toBe('192.0.2.7')
    expect(senderOf('::ffff:192.0.2.7')).toBe('192.0.2.7')
  })

  it('is the first half of an IPv6 address (RFC 4291, 2.5.4: 64 bits of network, 64 of interface)', () => {
    const network = '2001:db8:0:1::/64'
    for (const address of [
      '2001:db8:0:1::5',
      '2001:0db8:0000:0001:aaaa:bbbb:cccc:dddd',
      '2001:DB8:0:1:9::1%eth0',
    ])
      expect(senderOf(address)).toBe(network)
    expect(senderOf('2001:db8::1')).toBe('2001:db8:0:0::/64')
    expect(senderOf('::1')).toBe('0:0:0:0::/64')
  })

  it('is the last one that a proxy wrote, not what the sender claims', () => {
    expect(lastForwarded('203.0.113.9, 192.0.2.7')).toBe('192.0.2.7')
    expect(lastForwarded(null)).toBe('unknown')
  })
})

describe('small texts', () => {
  it('names a device as its owner would', () => {
    // User-Agent texts as the browsers' makers document them (shortened).
    expect(
      deviceName(
        'Mozilla/5.0 (iPad; CPU OS 16_5 like Mac OS X) AppleWebKit/605.1.15 Version/16.5 Safari/604.1',
      ),
    ).toBe('Safari · iPad')
    expect(
      deviceName('Mozilla/5.0 (Windows NT 10.0; Win64; x64; rv:128.0) Gecko/20100101 Firefox/128.0'),
    ).toBe('Firefox · Windows')
    expect(
      deviceName('Mozilla/5.0 (Linux; Android 14) AppleWebKit/537.36 Chrome/126.0 Mobile Safari/537.36'),
    ).toBe('Chrome · Android')
    expect(deviceName(null)).toBe('unknown device')
  })

  it('says what is wrong with a new password', () => {
    const person = { email: 'rosalind@example.org', name: 'Rosalind Vega' }
    expect(passwordFault('harbor lantern violet', person)).toBeNull()
    expect(passwordFault('fourteen chars', person)).toMatch(/at least 15/)
    expect(passwordFault('aaaaaaaaaaaaaaaaaaaa', person)).toMatch(/different/)
    expect(passwordFault('my name is rosalind ok', person)).toMatch(/name/)
    expect(passwordFault('x1y2z3'.repeat(40), person)).toMatch(/at most/)
  })
})
