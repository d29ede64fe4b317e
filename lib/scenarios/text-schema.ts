import { z } from 'zod'
import { LOCALES } from './core/words'

/** kebab-case name of a step, option, thing, station or lesson. */
export const Id = z
  .string()
  .regex(/^[a-z][a-z0-9]*(-[a-z0-9]+)*$/, 'must be kebab-case: small letters, digits and single hyphens')

export const Locale = z.enum(LOCALES)
export type Locale = z.infer<typeof Locale>

/** A short text in every language that is shipped. */
export const Translations = z.strictObject({ en: z.string().min(1), es: z.string().min(1) })
export type Translations = z.infer<typeof Translations>
