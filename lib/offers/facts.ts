import type { Tx } from '@/lib/db/client'
import type { CivilDate } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import type { Locale } from '@/lib/kernel/wording'
import type { OfferNoticeValues } from '@/lib/notices/templates-offers'
import type { OfferEventKind, OfferVia } from '@/prisma/client/enums'
import { dutyHours } from './core/hours'
import { type OfferEventFacts, type OfferStatus, offerStatus } from './core/status'
import { whenOf } from './core/words'
import { offerSettingsOf } from './schema'

export const noOffer = () =>
  new AppError('NOT_FOUND', {
    userMessage: 'There is no such offer, or it belongs to somebody else.',
    userMessageEs: 'No existe esa oferta o es de otra persona.',
  })

/** What a page, a letter and a message say of a seat. */
export const SEAT_COLUMNS = {
  id: true,
  servesOn: true,
  shift: true,
  number: true,
  position: { select: { key: true, nameEn: true, nameEs: true, certificateKey: true } },
  pollingPlace: {
    select: {
      id: true,
      code: true,
      name: true,
      address: true,
      lat: true,
      lon: true,
      located: true,
      equipmentProfile: true,
      contactName: true,
      contactPhone: true,
      openings: true,
    },
  },
} as const

/** The seat of an offer with the part of its day that is offered. */
export const offered = <S extends { shift: string }>(offer: { seat: S; shift: string }): S => ({
  ...offer.seat,
  shift: offer.shift,
})

export const eventFacts = (events: readonly { kind: OfferEventKind; answerBy: string | null }[]) =>
  events.map(({ kind, answerBy }): OfferEventFacts => ({ kind, answerBy: answerBy as CivilDate | null }))

export const statusOf = (
  events: readonly { kind: OfferEventKind; answerBy: string | null }[],
  today: CivilDate,
): OfferStatus => offerStatus(eventFacts(events), today)

/** An offer with its events; from here on nobody else changes it until the transaction ends. @throws NOT_FOUND */
export async function lockOffer(tx: Tx, offerId: string) {
  await tx.$executeRaw`SELECT 1 FROM "Offer" WHERE id = ${offerId}::uuid FOR UPDATE`
  const offer = await tx.offer.findUnique({
    where: { id: offerId },
    include: {
      events: { orderBy: { sequence: 'asc' } },
      election: { include: { county: true } },
      seat: true,
    },
  })
  if (!offer) throw noOffer()
  return offer
}
export type LockedOffer = Awaited<ReturnType<typeof lockOffer>>

export interface NewEvent {
  kind: OfferEventKind
  via: OfferVia
  at: Date
  accountId: string | null
  answerBy?: string
  reason?: string | null
  note?: string
}

/** Adds an event at the end of a locked offer's. */
export const addEvent = (
  tx: Tx,
  offer: { id: string; countyId: string; events: readonly unknown[] },
  event: NewEvent,
) =>
  tx.offerEvent.create({
    data: { offerId: offer.id, countyId: offer.countyId, sequence: offer.events.length, ...event },
  })

type SeatRow = {
  servesOn: string
  shift: string
  position: { nameEn: string; nameEs: string }
  pollingPlace: {
    name: string
    address: string
    openings: { firstOn: string | null; lastOn: string | null; opensAt: string; closesAt: string }[]
  }
}

/** A seat as one line of a message. */
export function seatLine(seat: SeatRow, heldOn: CivilDate, settings: unknown, locale: Locale): string {
  const on = seat.servesOn as CivilDate
  const hours = dutyHours(
    seat.pollingPlace.openings,
    { on, shift: seat.shift },
    heldOn,
    offerSettingsOf(settings),
  )
  const position = locale === 'es' ? seat.position.nameEs : seat.position.nameEn
  return `${whenOf({ on, shift: seat.shift, hours }, locale)}: ${position}. ${seat.pollingPlace.name}, ${seat.pollingPlace.address}`
}

/** What every message about offers says of its office. */
export const officeValues = (county: {
  name: string
  settings: unknown
}): Pick<OfferNoticeValues['offer-made'], 'office' | 'phone'> => ({
  office: county.name,
  phone: offerSettingsOf(county.settings).officePhone,
})
