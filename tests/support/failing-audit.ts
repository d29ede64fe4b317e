/** The audit, made to fail after everything else was written:
 *  `vi.mock('@/lib/audit/append', async (original) => (await import('@/tests/support/failing-audit')).failing(await original()))`. */
import type * as Append from '@/lib/audit/append'

/** The event at which it fails; empty: never. */
export const audit = { failOn: '' }

export const failing = (real: typeof Append): typeof Append => ({
  ...real,
  appendAudit: (tx, by, record) => {
    if (record.event === audit.failOn) throw new Error('half-way')
    return real.appendAudit(tx, by, record)
  },
})
