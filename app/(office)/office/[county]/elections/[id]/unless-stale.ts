import { AppError } from '@/lib/kernel/errors'
import { type SaidKey, STALE } from '@/lib/roster/words'

/** Does a move; when somebody else was first, the page is shown anew, says so and lists what changed since `expected`.
 *  (Answering the old form would lose the sentence without JavaScript: on the new page that form may no longer be
 *  there.) `to` leads to a page whose address line takes `said` and `seen`. */
export async function unlessStale(
  move: () => Promise<unknown>,
  said: SaidKey,
  expected: string,
  to: (told: string) => string,
): Promise<{ goTo: string }> {
  try {
    await move()
  } catch (error) {
    if (error instanceof AppError && error.userMessage === STALE)
      return { goTo: to(`said=stale&seen=${encodeURIComponent(expected)}`) }
    throw error
  }
  return { goTo: to(`said=${said}`) }
}
