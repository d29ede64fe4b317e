import type { ReactNode } from 'react'
import { currentActor } from '@/lib/auth/session'
import { Room } from './parts/room'
import './training.css'

export default async ({ children }: { children: ReactNode }) => {
  const actor = await currentActor()
  return actor ? <Room account={actor.accountId}>{children}</Room> : children
}
