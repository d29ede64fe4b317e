const BROWSERS: [RegExp, string][] = [
  [/Edg(A|iOS)?\//, 'Edge'],
  [/(Firefox|FxiOS)\//, 'Firefox'],
  [/(Chrome|CriOS|Chromium)\//, 'Chrome'],
  [/Safari\//, 'Safari'],
]
const SYSTEMS: [RegExp, string][] = [
  [/iPad/, 'iPad'],
  [/iPhone/, 'iPhone'],
  [/Android/, 'Android'],
  [/CrOS/, 'ChromeOS'],
  [/Windows/, 'Windows'],
  [/Mac OS X|Macintosh/, 'macOS'],
  [/Linux/, 'Linux'],
]

/** "Firefox · Windows": enough for a person to recognise a sign-in, no more of the header than that is kept. */
export function deviceName(userAgent: string | null): string {
  const find = (list: [RegExp, string][]) => list.find(([pattern]) => pattern.test(userAgent ?? ''))?.[1]
  return [find(BROWSERS), find(SYSTEMS)].filter(Boolean).join(' · ') || 'unknown device'
}
