import type { Actor } from '@/lib/auth/actor'
import { can } from '@/lib/auth/permissions'

export interface MainLink {
  href: string
  label: 'myPath' | 'certificates' | 'training' | 'office' | 'admin' | 'account'
}

/** The main pages that an account has any business with. Only a convenience: each page and command authorises. */
export function navigationOf(actor: Actor): MainLink[] {
  const anywhere = (permission: Parameters<typeof can>[1]) =>
    actor.grants.some((grant) => can(actor, permission, grant.countyId))
  const links: MainLink[] = []
  if (actor.pollWorkerId)
    links.push({ href: '/path', label: 'myPath' }, { href: '/certificates', label: 'certificates' })
  if (anywhere('recordCheckOff')) links.push({ href: '/training', label: 'training' })
  if (anywhere('readRoster')) links.push({ href: '/office', label: 'office' })
  if (anywhere('readAudit')) links.push({ href: '/admin', label: 'admin' })
  links.push({ href: '/account', label: 'account' })
  return links
}
