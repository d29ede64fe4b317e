import type { PositionFigures } from '@/lib/elections/queries'
import type { FilterSearch } from './filter'

/** Which places the table and the map show. */
export const FilterForm = ({
  base,
  search,
  positions,
  moveSeatId,
  allHref,
}: {
  base: string
  search: FilterSearch
  positions: PositionFigures[]
  moveSeatId: string | null
  /** Null: nothing is filtered. */
  allHref: string | null
}) => (
  <search>
    <form className="filter" method="get" action={`${base}#crews`}>
      {moveSeatId && <input type="hidden" name="move" value={moveSeatId} />}
      <div className="field">
        <label htmlFor="name">Place</label>
        <input id="name" name="name" type="search" defaultValue={search.name} autoComplete="off" />
      </div>
      <div className="field">
        <label htmlFor="position">Position</label>
        <select id="position" name="position" defaultValue={search.position ?? ''}>
          <option value="">any</option>
          {positions.map((p) => (
            <option key={p.key} value={p.key}>
              {p.name}
            </option>
          ))}
        </select>
      </div>
      <div className="field">
        <label htmlFor="show">Show</label>
        <select id="show" name="show" defaultValue={search.show ?? 'all'}>
          <option value="all">all places</option>
          <option value="empty">with empty seats</option>
          <option value="misplaced">with seats not allowed</option>
        </select>
      </div>
      <div className="row">
        <button type="submit">Show</button>
        {allHref && (
          <a className="button" href={allHref}>
            All places
          </a>
        )}
      </div>
    </form>
  </search>
)
