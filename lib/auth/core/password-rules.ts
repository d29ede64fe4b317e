/** NIST SP 800-63B-4 asks for 15 characters where a password can be the only factor, for at least 64 to be allowed,
 *  and against rules of composition (values from memory). */
export const PASSWORD_MIN = 15
export const PASSWORD_MAX = 200

/** What is wrong with a new password, as a sentence that says how to put it right; null where nothing is. */
export function passwordFault(
  password: string,
  person: { email: string | null; name: string },
): string | null {
  if ([...password].length < PASSWORD_MIN)
    return `Use at least ${PASSWORD_MIN} characters. Four or five words in a row are easy to remember.`
  if (password.length > PASSWORD_MAX) return `Use at most ${PASSWORD_MAX} characters.`
  if (new Set(password.toLowerCase()).size < 6) return 'Use more different characters.'
  const lower = password.toLowerCase()
  const own = [person.email?.split('@')[0], ...person.name.split(/\s+/)]
  if (own.some((part) => part && part.length >= 5 && lower.includes(part.toLowerCase())))
    return 'Leave your name and your e-mail address out of it.'
  return null
}
