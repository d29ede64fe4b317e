import type { RefusalCode } from '@/lib/kernel/errors'

/** What was typed and ticked, by field; several values where the field's name ends in `[]` (here without it). */
export type Entered = Record<string, string | string[]>

/** What a form gets back from its action; small and serialisable, so that it also works before JavaScript has loaded. */
export type Outcome =
  | { status: 'idle' }
  | { status: 'done'; message?: string; value?: unknown }
  | {
      status: 'refused'
      code: RefusalCode
      message: string
      fields?: Record<string, string>
      entered?: Entered
    }
  | { status: 'failed'; message: string; eventId: string; entered?: Entered }

export const IDLE: Outcome = { status: 'idle' }
