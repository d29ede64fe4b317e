export interface ExposureReport {
  forms: number
  /** Question id → share of the forms that had it. */
  rates: Map<string, number>
  highest: number
  lowest: number
  /** Expected share of questions that two different forms have in common. `null` for fewer than two forms. */
  meanOverlap: number | null
}

/** How often each question of the bank was drawn. Forms may differ in size; overlap is per question of the mean form.
 *  O(questions drawn). The overlap of a random pair is Σ C(nᵢ, 2) ÷ C(forms, 2), by counting pairs through questions. */
export function exposureOf(
  forms: readonly (readonly string[])[],
  bankIds: readonly string[],
): ExposureReport {
  const times = new Map(bankIds.map((id) => [id, 0]))
  let size = 0
  for (const form of forms)
    for (const id of form) {
      times.set(id, (times.get(id) ?? 0) + 1)
      size++
    }
  const n = forms.length
  const rates = new Map([...times].map(([id, t]) => [id, n === 0 ? 0 : t / n]))
  let highest = 0
  let lowest = rates.size === 0 ? 0 : 1
  let pairs = 0
  for (const t of times.values()) {
    highest = Math.max(highest, n === 0 ? 0 : t / n)
    lowest = Math.min(lowest, n === 0 ? 0 : t / n)
    pairs += (t * (t - 1)) / 2
  }
  const meanOverlap = n < 2 || size === 0 ? null : pairs / ((n * (n - 1)) / 2) / (size / n)
  return { forms: n, rates, highest, lowest, meanOverlap }
}
