import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'

export interface PlacePoint {
  id: string
  code: string
  name: string
  address: string
  kind: string
  lat: number
  lon: number
}

/** The polling places of a county in order of their codes. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listPlaces(actor: Actor, countyId: string): Promise<PlacePoint[]> {
  assertCan(actor, 'readRoster', countyId)
  return db().pollingPlace.findMany({
    where: { countyId },
    select: { id: true, code: true, name: true, address: true, kind: true, lat: true, lon: true },
    orderBy: { code: 'asc' },
  })
}
