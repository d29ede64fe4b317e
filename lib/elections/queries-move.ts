import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { AppError } from '@/lib/kernel/errors'
import { type MovedTo, moveToken, type Touched, whatAMoveTouches } from './facts-move'

export interface MovePreview {
  place: MovedTo & { id: string; code: string }
  touched: Touched
  /** Empty without a new address. */
  token: string
}

/** Whom and what moving a place touches, before anything is done. @throws AppError NOT_FOUND, FORBIDDEN */
export async function previewMove(
  actor: Actor,
  countyId: string,
  placeId: string,
  electionId: string,
  to: MovedTo | null,
): Promise<MovePreview> {
  assertCan(actor, 'changePlaces', countyId)
  const isId = (text: string) => /^[0-9a-f-]{36}$/.test(text)
  const [place, election] =
    isId(placeId) && isId(electionId)
      ? await Promise.all([
          db().pollingPlace.findUnique({ where: { id: placeId, countyId } }),
          db().election.findUnique({ where: { id: electionId, countyId } }),
        ])
      : [null, null]
  if (!place || !election)
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such place or election, or it belongs to another county.',
    })
  const touched = await whatAMoveTouches(db(), electionId, placeId, to)
  return { place, touched, token: to ? moveToken(place, to, touched) : '' }
}
