/** Signs people in without the pages, as the pages would: a SignIn row and next-auth's own cookie. */
import { randomUUID } from 'node:crypto'
import { readFileSync } from 'node:fs'
import path from 'node:path'
import { encode } from 'next-auth/jwt'
import pg from 'pg'
import { sessionCookieName, sessionSecret } from '@/lib/auth/auth-options'
import { setEnv } from '@/lib/env'

export interface Visitor {
  accountId: string
  pollWorkerId: string | null
  cookie: string
  cookieName: string
  cookieValue: string
}

export async function withClient<T>(url: string, work: (client: pg.Client) => Promise<T>): Promise<T> {
  const client = new pg.Client(url)
  await client.connect()
  try {
    return await work(client)
  } finally {
    await client.end()
  }
}

/** A signed-in visitor for an account found by e-mail or by its poll worker's id. */
export async function signIn(
  product: { databaseUrl: string; folder: string },
  who: { email: string } | { workerId: string },
): Promise<Visitor> {
  setEnv({ SECRET: readFileSync(path.join(product.folder, 'secret'), 'utf8') })
  return withClient(product.databaseUrl, async (client) => {
    const [column, value] = 'email' in who ? ['email', who.email] : ['pollWorkerId', who.workerId]
    const found = await client.query(`SELECT id, "pollWorkerId" FROM "Account" WHERE "${column}" = $1`, [
      value,
    ])
    const account = found.rows[0] as { id: string; pollWorkerId: string | null }
    const signInId = randomUUID()
    await client.query(
      `INSERT INTO "SignIn" (id, "accountId", method, device, "expiresAt") VALUES ($1, $2, $3, 'test', now() + interval '1 hour')`,
      [signInId, account.id, 'email' in who ? 'password' : 'card'],
    )
    const cookieValue = await encode({ token: { signInId }, secret: sessionSecret() })
    const cookieName = sessionCookieName()
    return {
      accountId: account.id,
      pollWorkerId: account.pollWorkerId,
      cookieName,
      cookieValue,
      cookie: `${cookieName}=${cookieValue}`,
    }
  })
}
