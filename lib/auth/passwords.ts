import { hash, verify } from '@node-rs/argon2'

/** Argon2id with OWASP's first choice for it: 19 MiB, 2 passes, 1 lane (OWASP Password Storage Cheat Sheet).
 *  `algorithm: 2` is Argon2id; the package's enum can't be imported under isolatedModules. */
const OWASP = { algorithm: 2, memoryCost: 19_456, timeCost: 2, parallelism: 1 } as const

/** Hashing takes 19 MiB and a core each time: more at once would only make everybody wait, and let one sender use up
 *  the memory. The rest queue. */
const AT_ONCE = 4
let running = 0
const waiting: (() => void)[] = []

async function inTurn<T>(work: () => Promise<T>): Promise<T> {
  if (running >= AT_ONCE) await new Promise<void>((resolve) => waiting.push(resolve))
  else running++
  try {
    return await work()
  } finally {
    const next = waiting.shift()
    if (next) next()
    else running--
  }
}

export const hashPassword = (password: string): Promise<string> =>
  inTurn(() => hash(password.normalize('NFKC'), OWASP))

let dummy: Promise<string> | undefined

/** Compares. Without a hash (no such account, or none with a password) it does the same work and says no, so that the
 *  time doesn't tell who has an account. */
export async function isPassword(passwordHash: string | null, password: string): Promise<boolean> {
  dummy ??= hashPassword('nobody has this password')
  const against = passwordHash ?? (await dummy)
  const same = await inTurn(() => verify(against, password.normalize('NFKC')))
  return same && passwordHash !== null
}
