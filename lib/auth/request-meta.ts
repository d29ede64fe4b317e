import 'server-only'
import { cookies, headers } from 'next/headers'
import { systemClock } from '@/lib/kernel/clock'
import { deviceName } from './core/device-name'
import { lastForwarded, senderOf } from './core/network-address'
import type { RequestMeta } from './sign-ins'
import { TABLET_COOKIE, type Tablet, tabletOf } from './tablet'

/** What a sign-in needs to know of the request. Next writes the socket's address into X-Forwarded-For where no proxy
 *  has. Without a proxy a sender can claim any address there: the limits for each account and for all cards hold
 *  regardless. */
export async function requestMeta(): Promise<RequestMeta> {
  const [header, jar] = await Promise.all([headers(), cookies()])
  const at = systemClock.now()
  return {
    address: senderOf(lastForwarded(header.get('x-forwarded-for'))),
    device: deviceName(header.get('user-agent')),
    sharedTablet: tabletOf(jar.get(TABLET_COOKIE)?.value, at) !== null,
    at,
  }
}

/** The shared tablet that this browser is, or null. */
export const currentTablet = async (): Promise<Tablet | null> =>
  tabletOf((await cookies()).get(TABLET_COOKIE)?.value, systemClock.now())
