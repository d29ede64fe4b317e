/** Where to go after signing in, from an address bar: only a path of our own. Anything that a browser could read as
 *  another site ("//other", "/\other", "https:…", control characters) becomes '/'. */
export function safeNextPath(asked: unknown): string {
  // Browsers drop tabs and line ends inside addresses, so "/\t/other" would be "//other".
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
  if (typeof asked !== 'string' || asked.length > 500 || /[\u0000-\u001f\u007f\\]/.test(asked)) return '/'
  if (!asked.startsWith('/') || asked.startsWith('//')) return '/'
  const base = 'http://own.invalid'
  if (!URL.canParse(asked, base)) return '/'
  const url = new URL(asked, base)
  if (url.origin !== base || url.pathname.startsWith('//')) return '/'
  // These would loop, or sign the person out again.
  if (/^\/(sign-in|sign-out|api)(\/|$)/.test(url.pathname)) return '/'
  return url.pathname + url.search + url.hash
}
