import { randomUUID } from 'node:crypto'
import { insertRows, updateRows } from '@/lib/db/bulk'
import type { Tx } from '@/lib/db/client'
import type { PlaceKind } from '@/prisma/client/enums'

/** Writes places, their hours and their precincts, all in the caller's transaction, who has authorised and appends the
 *  audit record. */

export interface PlaceToWrite {
  id: string | null
  code: string
  name: string
  address: string
  lat: number
  lon: number
  located: boolean
  kind: PlaceKind
  equipmentProfile: string
  /** Null: left as they are. */
  hours: { firstOn: string | null; lastOn: string | null; opensAt: string; closesAt: string }[] | null
}

export interface PrecinctToWrite {
  id: string | null
  code: string
  name: string
  registeredVoters: number
  placeCode: string | null
}

export async function writePlaces(
  tx: Tx,
  countyId: string,
  places: readonly PlaceToWrite[],
  precincts: readonly PrecinctToWrite[],
): Promise<void> {
  const rows = places.map(({ hours: _, ...place }) => ({ ...place, id: place.id ?? randomUUID(), countyId }))
  const fresh = new Set(places.filter((place) => place.id === null).map((place) => place.code))
  await insertRows(
    tx,
    'PollingPlace',
    rows.filter((row) => fresh.has(row.code)),
  )
  await updateRows(
    tx,
    'PollingPlace',
    rows.filter((row) => !fresh.has(row.code)),
  )
  const idOf = new Map(rows.map((row) => [row.code, row.id]))
  const openings = places.flatMap((place) =>
    (place.hours ?? []).map((hours) => ({
      id: randomUUID(),
      countyId,
      pollingPlaceId: idOf.get(place.code)!,
      ...hours,
    })),
  )
  const retold = places.filter((place) => place.hours !== null).map((place) => idOf.get(place.code)!)
  await tx.opening.deleteMany({ where: { pollingPlaceId: { in: retold } } })
  await insertRows(tx, 'Opening', openings)
  await writePrecincts(tx, countyId, precincts)
}

/** A new precinct stands where its place does, or in the middle of the county's places: nobody measures from it. */
async function writePrecincts(
  tx: Tx,
  countyId: string,
  precincts: readonly PrecinctToWrite[],
): Promise<void> {
  if (precincts.length === 0) return
  const places = await tx.pollingPlace.findMany({
    where: { countyId },
    select: { id: true, code: true, lat: true, lon: true },
  })
  const placeOf = new Map(places.map((place) => [place.code, place]))
  const mean = (key: 'lat' | 'lon') => places.reduce((sum, p) => sum + p[key], 0) / Math.max(1, places.length)
  const middle = { lat: mean('lat'), lon: mean('lon') }
  const rows = precincts.map(({ placeCode, ...precinct }) => {
    const place = placeCode === null ? undefined : placeOf.get(placeCode)
    return { ...precinct, pollingPlaceId: place?.id ?? null, at: place ?? middle }
  })
  await insertRows(
    tx,
    'Precinct',
    rows
      .filter((row) => row.id === null)
      .map(({ at, ...row }) => ({ ...row, id: randomUUID(), countyId, lat: at.lat, lon: at.lon })),
  )
  await updateRows(
    tx,
    'Precinct',
    rows.flatMap(({ at: _, id, ...row }) => (id === null ? [] : [{ ...row, id }])),
  )
}
