import { z } from 'zod'

const Cents = z.int().min(0).max(10_000_00)

/** What a position is paid, as the county sets it (settings, `payRates`): for the day, for each hour, or both. */
export const PayRate = z.object({ perDayCents: Cents.default(0), perHourCents: Cents.default(0) })
export type PayRate = z.output<typeof PayRate>
export const PayRates = z.record(z.string().max(100), PayRate)
export type PayRates = z.output<typeof PayRates>

/** A county that has set nothing readable has no rates. */
export function payRatesOf(settings: unknown): PayRates {
  const own = PayRates.safeParse((settings as { payRates?: unknown } | null)?.payRates ?? {})
  return own.success ? own.data : {}
}

/** What somebody earns in one day, in cents; half a cent is rounded up. `minutes` are those worked that day. */
export const payFor = (rate: PayRate, minutes: number): number =>
  rate.perDayCents + Math.round((rate.perHourCents * minutes) / 60)

export const dollars = (cents: number): string =>
  (cents / 100).toLocaleString('en-US', { style: 'currency', currency: 'USD' })

/** A form's dollars (`12`, `12.50`, `$1,200`) in whole cents; empty is 0. */
export const DollarsInput = z
  .string()
  .trim()
  .transform((text, context): number => {
    const plain = text.replace(/^\$/, '').replaceAll(',', '')
    if (plain === '') return 0
    if (/^\d{1,5}(\.\d{1,2})?$/.test(plain)) return Math.round(Number(plain) * 100)
    context.addIssue({ code: 'custom', message: 'Give dollars like 12 or 12.50, or nothing.' })
    return z.NEVER
  })
