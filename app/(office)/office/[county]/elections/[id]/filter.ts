import { z } from 'zod'

/** The board's filter as its address line carries it. */
export const FILTER_KEYS = ['name', 'position', 'show', 'place', 'area', 'page'] as const
export type FilterSearch = Partial<Record<(typeof FILTER_KEYS)[number], string>>

/** As a query without its question mark; what is empty is left out. */
export const filterQuery = (filter: Record<string, string | undefined>): string =>
  new URLSearchParams(
    FILTER_KEYS.flatMap((key) => (filter[key] ? [[key, filter[key]] as [string, string]] : [])),
  ).toString()

/** The filter that a form brings back: only the board's own words get into an address line. */
export const BackInput = z
  .string()
  .max(500)
  .default('')
  .transform((text) => filterQuery(Object.fromEntries(new URLSearchParams(text))))
