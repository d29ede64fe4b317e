import type { Access } from '@/prisma/client/enums'

/** Who asks: read anew from the database for each request. */
export interface Actor {
  accountId: string
  signInId: string
  name: string
  locale: 'en' | 'es'
  pollWorkerId: string | null
  sharedTablet: boolean
  /** `countyId` null: every county (the state office). */
  grants: readonly { access: Access; countyId: string | null }[]
}
