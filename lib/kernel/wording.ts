/** The languages that everything a poll worker sees is in. */
export const LOCALES = ['en', 'es'] as const
export type Locale = (typeof LOCALES)[number]

export const isLocale = (value: unknown): value is Locale => LOCALES.includes(value as Locale)

/** One text in every language. */
export type Wording = Record<Locale, string>
