import type { RefusalCode } from '@/lib/kernel/errors'

/** What a form gets back from its action; small and serialisable, so that it also works before JavaScript has loaded. */
export type Outcome =
  | { status: 'idle' }
  | { status: 'done'; message?: string; value?: unknown }
  | {
      status: 'refused'
      code: RefusalCode
      message: string
      fields?: Record<string, string>
      entered?: Record<string, string>
    }
  | { status: 'failed'; message: string; eventId: string }

export const IDLE: Outcome = { status: 'idle' }
