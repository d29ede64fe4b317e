/** Jaro similarity of two texts: 0 (nothing in common) to 1 (equal); 1 for two empty ones. Characters match when they
 *  are equal and no further apart than half the longer text, less one; half the matches that are out of order count as
 *  transpositions. O(m·n) at worst.
 *  Source: Jaro 1989, J. Am. Stat. Assoc. 84:414–420. */
export function jaro(a: string, b: string): number {
  if (a === b) return 1
  if (a.length === 0 || b.length === 0) return 0
  const reach = Math.max(0, Math.floor(Math.max(a.length, b.length) / 2) - 1)
  const takenB = new Uint8Array(b.length)
  const matchedA: number[] = []
  for (let i = 0; i < a.length; i++) {
    const last = Math.min(b.length - 1, i + reach)
    for (let j = Math.max(0, i - reach); j <= last; j++)
      if (takenB[j] === 0 && a[i] === b[j]) {
        takenB[j] = 1
        matchedA.push(i)
        break
      }
  }
  const matches = matchedA.length
  if (matches === 0) return 0
  let outOfOrder = 0
  let next = 0
  for (let j = 0; j < b.length; j++) if (takenB[j] === 1 && a[matchedA[next++]!] !== b[j]) outOfOrder++
  return (matches / a.length + matches / b.length + (matches - outOfOrder / 2) / matches) / 3
}

/** Jaro–Winkler similarity: Jaro's, raised by a tenth of what is missing to 1 for each of up to four first characters
 *  that agree. 0 to 1.
 *  Source: Winkler 1990, Proc. Section on Survey Research Methods, ASA, 354–359 (p = 0.1, prefix of 4). */
export function jaroWinkler(a: string, b: string): number {
  const base = jaro(a, b)
  let prefix = 0
  while (prefix < 4 && prefix < a.length && a[prefix] === b[prefix]) prefix++
  return base + prefix * 0.1 * (1 - base)
}
