import { readFileSync } from 'node:fs'
import { expect, it } from 'vitest'
import { FACT_KINDS } from '@/lib/certification/schema'

it('every kind of fact has words in a person’s history, in both languages', () => {
  for (const locale of ['en', 'es']) {
    const { fact } = JSON.parse(readFileSync(`content/messages/${locale}/certificates.json`, 'utf8'))
    expect(Object.keys(fact).sort()).toEqual([...FACT_KINDS].sort())
  }
})
