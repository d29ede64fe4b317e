import { AppError } from '@/lib/kernel/errors'
import { type SaidKey, STALE } from '@/lib/roster/words'

/** Does a move; when somebody else was first, the page is shown anew and says so. (Answering the old form would lose the
 *  sentence without JavaScript: on the new page that form may no longer be there.) */
export async function unlessStale(
  move: () => Promise<unknown>,
  said: SaidKey,
  to: (said: SaidKey) => string,
): Promise<{ goTo: string }> {
  try {
    await move()
  } catch (error) {
    if (error instanceof AppError && error.userMessage === STALE) return { goTo: to('stale') }
    throw error
  }
  return { goTo: to(said) }
}
