/** Contrast of two colours as WCAG 2.2 defines it (relative luminance of sRGB, ratio from 1 to 21). */

const channel = (eightBit: number): number => {
  const share = eightBit / 255
  return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4
}

/** Relative luminance of `#rrggbb`, 0 (black) to 1 (white). @throws RangeError for another shape. */
export function relativeLuminance(hex: string): number {
  if (!/^#[0-9a-f]{6}$/i.test(hex)) throw new RangeError(`"${hex}" is not a colour like #17556b`)
  const [r, g, b] = [1, 3, 5].map((at) => channel(Number.parseInt(hex.slice(at, at + 2), 16))) as [
    number,
    number,
    number,
  ]
  return 0.2126 * r + 0.7152 * g + 0.0722 * b
}

export function contrastRatio(one: string, other: string): number {
  const [low, high] = [relativeLuminance(one), relativeLuminance(other)].sort((a, b) => a - b) as [
    number,
    number,
  ]
  return (high + 0.05) / (low + 0.05)
}
