import { z } from 'zod'
import type { KeySet } from '@/lib/certification/core/verify-credential'
import { verifyCredential } from '@/lib/certification/core/verify-credential'
import { defineCalculation } from '../calculation'

const Key = z.looseObject({ kty: z.string() })

/** `keys` is a key set or one key. `at` is the instant to judge; absent: now. */
export default defineCalculation({
  input: z.strictObject({
    credential: z.string().min(1).max(100_000),
    keys: z.union([
      z.looseObject({ keys: z.array(Key).max(1000) }),
      Key.transform((key) => ({ keys: [key] })),
    ]),
    at: z.iso.datetime({ offset: true }).optional(),
    issuerId: z.string().optional(),
    statusLists: z.record(z.string(), z.string()).optional(),
    statusRequired: z.boolean().optional(),
  }),
  run: ({ credential, keys, at, ...rest }) =>
    verifyCredential(credential, { ...rest, keys: keys as KeySet, now: at ? new Date(at) : new Date() }),
})
