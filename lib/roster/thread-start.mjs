/** Starts a roster thread: TypeScript first, then the entry. Plain JavaScript, because a worker begins without hooks
 *  whichever runner its parent had. */
import { register } from 'tsx/esm/api'

register()
await import('./thread-entry.ts')
