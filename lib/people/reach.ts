import { isLocale, type Locale } from '@/lib/kernel/wording'

/** How somebody can be written to. */
export interface Reach {
  /** Null: no e-mail is known. */
  address: string | null
  locale: Locale
  accountId: string | null
}

/** Columns that `reachOf` reads, for a query's `select`. */
export const REACH_COLUMNS = {
  email: true,
  languages: true,
  account: { select: { id: true, email: true, locale: true, disabledAt: true } },
} as const

/** Where and in which language a person is written to: as they set it in their account, else in the first of their
 *  languages that we have, else in English. */
export function reachOf(worker: {
  email: string | null
  languages: string[]
  account: { id: string; email: string | null; locale: string; disabledAt: Date | null } | null
}): Reach {
  const account = worker.account?.disabledAt ? null : worker.account
  const spoken = worker.languages.find(isLocale)
  return {
    address: worker.email ?? account?.email ?? null,
    // An account that nobody changed says English; what the person speaks tells more.
    locale:
      account && account.locale !== 'en' && isLocale(account.locale) ? account.locale : (spoken ?? 'en'),
    accountId: account?.id ?? null,
  }
}
