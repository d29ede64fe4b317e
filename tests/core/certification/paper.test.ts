import { describe, expect, it } from 'vitest'
import { certificatePaper } from '@/lib/certification/paper'
import type { IssueSummary } from '@/lib/certification/queries-certificates'
import { setEnv } from '@/lib/env'
import { civilDate } from '@/lib/kernel/dates'
import { writePdf } from '@/lib/papers/pdf'
import { canReadPdf, codeOn, greyPage, pagesOf, textOf } from '@/tests/support/read-pdf'

setEnv({ PUBLIC_URL: 'https://larkmoor.example' })

const issue: IssueSummary = {
  id: '0b2f4c0e-6f5e-4c55-9a54-0d5d1f3c1a11',
  certificateId: '5b0e0d2c-7e0e-49e8-8b0f-4b1a1a2b3c4d',
  workerId: 'w',
  countyId: 'larkmoor',
  countyName: 'Larkmoor County',
  timeZone: 'America/Chicago',
  serial: '7K2Q-D0MX-WP3H',
  certificateKey: 'check-in',
  roleName: { en: 'Check-in', es: 'Registro de votantes' },
  holderName: 'Inés Quarrell',
  validFrom: civilDate('2026-01-10'),
  validUntil: civilDate('2028-01-10'),
  issuedAt: new Date('2026-01-10T18:00:00Z'),
  statusNumber: 1,
  credential: null,
}

describe('a printed certificate', () => {
  it('carries its number in its properties', async () => {
    const pdf = await writePdf(certificatePaper(issue, 'en'))
    expect(pdf.subarray(0, 5).toString()).toBe('%PDF-')
    expect(pdf.toString('latin1')).toContain('7K2Q-D0MX-WP3H')
  })

  it.skipIf(!canReadPdf)('says who, what, where and when, in English or Spanish, on one page', async () => {
    const english = await writePdf(certificatePaper(issue, 'en'))
    const spanish = await writePdf(certificatePaper(issue, 'es'))
    for (const words of [
      'Inés Quarrell',
      'Check-in',
      'Larkmoor County',
      'January 10, 2026',
      'January 9, 2028',
      issue.serial,
    ])
      expect(textOf(english)).toContain(words)
    for (const words of ['Inés Quarrell', 'Registro de votantes', '9 de enero de 2028', 'Número'])
      expect(textOf(spanish)).toContain(words)
    const long = {
      ...issue,
      holderName: 'María de los Ángeles Hernández-Villanueva y Montoya de la Fuente',
      roleName: {
        en: 'Ballot station and accessible marking device',
        es: 'Estación de votación y dispositivo accesible',
      },
    }
    for (const language of ['en', 'es'] as const) {
      const pdf = await writePdf(certificatePaper(long, language))
      expect(pagesOf(pdf)).toBe(1)
      expect(textOf(pdf)).toContain('Montoya de la Fuente')
    }
  })

  it.skipIf(!canReadPdf)(
    'printed in grey, has a code that another decoder reads as the verify page',
    async () => {
      const pdf = await writePdf(certificatePaper(issue, 'en'))
      expect(codeOn(pdf)).toBe('https://larkmoor.example/verify/7K2Q-D0MX-WP3H')
      // Grey ink is enough: the darkest dots are dark, and most of the page stays white.
      const { grey } = greyPage(pdf)
      const white = grey.filter((dot) => dot > 250).length
      expect(grey.reduce((darkest, dot) => Math.min(darkest, dot), 255)).toBeLessThan(100)
      expect(white / grey.length).toBeGreaterThan(0.85)
    },
  )
})
