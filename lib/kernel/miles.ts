/** Distances are kept in kilometres and shown in miles, as every county of the United States counts them. */

/** The international mile, exact by definition (NIST SP 811, appendix B.8). */
export const KM_PER_MILE = 1.609344

export const toMiles = (km: number): number => km / KM_PER_MILE
export const toKm = (miles: number): number => miles * KM_PER_MILE

/** `3.4 miles`, `12 miles`: one decimal below ten. */
export function milesText(km: number): string {
  const miles = toMiles(km)
  const shown = Math.abs(miles) < 10 ? miles.toFixed(1) : String(Math.round(miles))
  return `${shown} ${shown === '1.0' ? 'mile' : 'miles'}`
}
