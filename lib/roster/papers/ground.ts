import type { CivilDate } from '@/lib/kernel/dates'

/** What the papers of one roster are made of: read once, so that all pages say the same. No database in here. */

/** What one person takes: a seat, or one half of a seat that two people share. */
export interface PacketSeat {
  /** Of the spot (lib/roster/spot.ts). */
  id: string
  seatId: string
  positionName: { en: string; es: string }
  number: number
  servesOn: CivilDate
  shift: string
  person: {
    id: string
    name: string
    phone: string | null
    /** The language that they are written to in. */
    locale: 'en' | 'es'
  } | null
}

export interface PacketPlace {
  id: string
  code: string
  name: string
  address: string
  lat: number
  lon: number
  /** False: nobody has said yet where it is. */
  located: boolean
  equipmentProfile: string
  contactName: string
  contactPhone: string
  keysNote: string
  hours: string[]
  devices: { kind: string; profile: string; count: number }[]
  precincts: string[]
  /** By day, position, number. */
  seats: PacketSeat[]
}

export interface StandbyPerson {
  name: string
  phone: string | null
  positions: string[]
  /** Which part of a day they offer: full, morning, afternoon. */
  shift: string
  languages: string[]
}

export interface PacketGround {
  countyName: string
  /** Null: the county hasn't entered one. */
  officePhone: string | null
  /** When the morning's people hand over to the afternoon's, as the county says in its offers. */
  changeAt: string
  electionName: string
  heldOn: CivilDate
  version: number
  published: boolean
  /** Changes of this version until it was printed. */
  revision: number
  madeAt: string
  printedOn: string
  places: PacketPlace[]
  /** Certified for that day, free, and seated nowhere. */
  standby: StandbyPerson[]
}
