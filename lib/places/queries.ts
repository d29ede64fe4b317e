import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import type { Prisma } from '@/prisma/client/client'
import type { PlaceKind } from '@/prisma/client/enums'
import { type Assessed, assess, type Measures } from './core/access-survey'
import type { Area } from './core/area'

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

export const PLACES_PAGE = 60

export interface PlaceFilter {
  /** Part of the name or address, or the beginning of a code. */
  name?: string
  kind?: PlaceKind
  /** `hours`: none on election day; `location`: not on the map. */
  lacks?: 'hours' | 'precincts' | 'survey' | 'location' | 'contact'
  /** A part of the map. */
  area?: Area
  page: number
}

export interface PlaceRow extends PlacePoint {
  located: boolean
  contactName: string
  contactPhone: string
  equipmentProfile: string
  precinctCodes: string[]
  precincts: number
  registeredVoters: number
  devices: number
  surveyedOn: string | null
  fallsShort: number
}

export interface PlacesPage {
  places: PlaceRow[]
  /** Every place that fits, for the map. */
  points: { id: string; code: string; name: string; kind: string; lat: number; lon: number }[]
  matching: number
  /** Of the whole county. */
  withoutHours: number
  pages: number
  page: number
}

const LACKS: Record<NonNullable<PlaceFilter['lacks']>, Prisma.PollingPlaceWhereInput> = {
  hours: { kind: { not: 'earlyVotingSite' }, openings: { none: { firstOn: null } } },
  precincts: { precincts: { none: {} } },
  survey: { surveys: { none: {} } },
  location: { located: false },
  contact: { contactName: '' },
}

const withinArea = ([west, south, east, north]: Area): Prisma.PollingPlaceWhereInput => ({
  AND: [{ located: true }, { lon: { gte: west, lte: east } }, { lat: { gte: south, lte: north } }],
})

function whereOf(countyId: string, filter: Omit<PlaceFilter, 'page'>): Prisma.PollingPlaceWhereInput {
  const like = { contains: filter.name, mode: 'insensitive' as const }
  return {
    countyId,
    ...(filter.kind ? { kind: filter.kind } : {}),
    ...(filter.lacks ? LACKS[filter.lacks] : {}),
    ...(filter.area ? withinArea(filter.area) : {}),
    ...(filter.name
      ? {
          OR: [
            { name: like },
            { address: like },
            { code: { startsWith: filter.name, mode: 'insensitive' as const } },
          ],
        }
      : {}),
  }
}

async function rowsOf(where: Prisma.PollingPlaceWhereInput): Promise<PlaceRow[]> {
  const rows = await db().pollingPlace.findMany({
    where,
    include: {
      precincts: { select: { code: true, registeredVoters: true }, orderBy: { code: 'asc' } },
      equipment: { select: { count: true } },
      surveys: { orderBy: [{ surveyedOn: 'desc' }, { recordedAt: 'desc' }], take: 1 },
    },
    orderBy: { code: 'asc' },
  })
  return rows.map(({ precincts, equipment, surveys, ...place }) => ({
    id: place.id,
    code: place.code,
    name: place.name,
    address: place.address,
    kind: place.kind,
    lat: place.lat,
    lon: place.lon,
    located: place.located,
    contactName: place.contactName,
    contactPhone: place.contactPhone,
    equipmentProfile: place.equipmentProfile,
    precinctCodes: precincts.map((p) => p.code),
    precincts: precincts.length,
    registeredVoters: precincts.reduce((sum, p) => sum + p.registeredVoters, 0),
    devices: equipment.reduce((sum, e) => sum + e.count, 0),
    surveyedOn: surveys[0]?.surveyedOn ?? null,
    fallsShort: assess((surveys[0]?.measures ?? {}) as Measures).filter((a) => a.verdict === 'falls-short')
      .length,
  }))
}

/** Every place that fits, by code, for a file. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listAllPlaces(
  actor: Actor,
  countyId: string,
  filter: Omit<PlaceFilter, 'page'>,
): Promise<PlaceRow[]> {
  assertCan(actor, 'readRoster', countyId)
  return rowsOf(whereOf(countyId, filter))
}

/** One page of a county's places by code, and all that fit as points. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listPlacePage(
  actor: Actor,
  countyId: string,
  filter: PlaceFilter,
): Promise<PlacesPage> {
  assertCan(actor, 'readRoster', countyId)
  const where = whereOf(countyId, filter)
  const points = await db().pollingPlace.findMany({
    where,
    select: { id: true, code: true, name: true, kind: true, lat: true, lon: true, located: true },
    orderBy: { code: 'asc' },
  })
  const pages = Math.max(1, Math.ceil(points.length / PLACES_PAGE))
  const page = Math.min(pages, Math.max(1, Math.floor(filter.page)))
  const ids = points.slice((page - 1) * PLACES_PAGE, page * PLACES_PAGE).map((p) => p.id)
  return {
    places: await rowsOf({ id: { in: ids } }),
    withoutHours: await db().pollingPlace.count({ where: { countyId, ...LACKS.hours } }),
    points: points.filter((p) => p.located),
    matching: points.length,
    pages,
    page,
  }
}

export interface PlaceDetail extends PlacePoint {
  located: boolean
  equipmentProfile: string
  contactName: string
  contactPhone: string
  keysNote: string
  features: string[]
  mayChange: boolean
  precincts: { id: string; code: string; name: string; registeredVoters: number; lat: number; lon: number }[]
  openings: { id: string; firstOn: string | null; lastOn: string | null; opensAt: string; closesAt: string }[]
  equipment: { id: string; kind: string; equipmentProfile: string; count: number }[]
  survey: { surveyedOn: string; note: string; assessed: Assessed[] } | null
  surveys: number
  moves: {
    id: string
    electionId: string
    from: string
    reason: string
    movedOn: string
    peopleTold: number
  }[]
}

/** One place with all that is known of it. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getPlace(actor: Actor, countyId: string, placeId: string): Promise<PlaceDetail> {
  assertCan(actor, 'readRoster', countyId)
  const place = /^[0-9a-f-]{36}$/.test(placeId)
    ? await db().pollingPlace.findUnique({
        where: { id: placeId, countyId },
        include: {
          precincts: { orderBy: { code: 'asc' } },
          openings: { orderBy: [{ firstOn: 'asc' }, { opensAt: 'asc' }] },
          equipment: { orderBy: [{ kind: 'asc' }, { equipmentProfile: 'asc' }] },
          surveys: { orderBy: [{ surveyedOn: 'desc' }, { recordedAt: 'desc' }] },
          moves: { orderBy: { movedAt: 'desc' } },
          county: { select: { timeZone: true } },
        },
      })
    : null
  if (!place)
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such place, or it belongs to another county.',
    })
  const [newest] = place.surveys
  return {
    ...place,
    mayChange: can(actor, 'changePlaces', countyId),
    survey: newest
      ? {
          surveyedOn: newest.surveyedOn,
          note: newest.note,
          assessed: assess(newest.measures as Measures),
        }
      : null,
    surveys: place.surveys.length,
    moves: place.moves.map((move) => ({
      id: move.id,
      electionId: move.electionId,
      from: addressOf(move.before),
      reason: move.reason,
      movedOn: civilDateAt(move.movedAt, place.county.timeZone),
      peopleTold: move.peopleTold,
    })),
  }
}

/** Name and address of a place before it moved. */
export const addressOf = (before: Prisma.JsonValue): string => {
  const { name = '', address = '' } = before as { name?: string; address?: string }
  return `${name}, ${address}`
}
