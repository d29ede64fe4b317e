import type { LapseRow, LapsesView } from '@/lib/reminders/queries'

/** The rows that the page's filter lets through: a certificate, a place, a part of a place's name. */
export function rowsShown(
  view: LapsesView,
  search: { [Key in 'certificate' | 'place' | 'at']?: string | undefined },
): LapseRow[] {
  const part = search.at?.trim().toLowerCase()
  const placeName = new Map(view.byPlace.map((place) => [place.id, place.name.toLowerCase()]))
  return view.rows.filter(
    (row) =>
      (!search.certificate || row.certificateKey === search.certificate) &&
      (!search.place || (row.placeId ?? 'none') === search.place) &&
      (!part || (row.placeId !== null && placeName.get(row.placeId)!.includes(part))),
  )
}
