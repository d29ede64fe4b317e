import { Empty, Figures, TableBox } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { milesText } from '@/lib/kernel/miles'
import { type ComparedSeat, getComparison } from '@/lib/roster/queries-compare'
import { orNotFound } from '@/lib/web/or-not-found'
import { OfficePage } from '../../../../../parts/office-page'

export const metadata = { title: 'Two rosters compared' }

export default async function ComparePage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; id: string }>
  searchParams: Promise<{ with?: string; page?: string }>
}) {
  const { county, id } = await params
  const search = await searchParams
  const actor = await requireActor(`/office/${county}/elections/${id}/compare`)
  const compared = await orNotFound(
    getComparison(actor, county, id, { with: search.with, page: Number(search.page) || 1 }),
  )
  const { head, against, choices, figures, travelKm, seats } = compared
  const base = `/office/${county}/elections/${id}`
  const differing = figures.filled + figures.emptied + figures.changed
  const travel = travelKm.after - travelKm.before
  return (
    <OfficePage
      title={`Compared: ${head.name}`}
      crumbs={[
        { href: `/office/${county}`, name: head.countyName },
        { href: base, name: head.name },
      ]}
    >
      {!against || !head.roster ? (
        <Empty>
          <p>
            There is nothing to compare with yet: publish a version, or have the seats filled.{' '}
            <a href={base}>Back to the roster</a>
          </p>
        </Empty>
      ) : (
        <>
          <p className="lead">
            Version {head.roster.version}
            {head.roster.publishedAt ? ' (published)' : ' (draft)'} as it is now, against {against.name}.
          </p>
          {choices.length > 1 && (
            <form className="filter" method="get">
              <div className="field">
                <label htmlFor="with">Compare with</label>
                <select id="with" name="with" defaultValue={against.key}>
                  {choices.map((c) => (
                    <option key={c.key} value={c.key}>
                      {c.name}
                    </option>
                  ))}
                </select>
              </div>
              <button type="submit">Compare</button>
            </form>
          )}
          <Figures
            items={[
              { name: 'with another person', value: figures.changed },
              { name: 'filled since', value: figures.filled },
              { name: 'emptied since', value: figures.emptied },
              { name: 'as before', value: figures.same },
            ]}
          />
          <p className="quiet">Each seat of each day counts; of a shared seat each half.</p>
          <p>
            {Math.abs(travel) < 0.05
              ? 'The travel of all together is the same'
              : `All together travel ${milesText(Math.abs(travel))} ${travel > 0 ? 'more' : 'less'} one way`}{' '}
            (from {milesText(travelKm.before)} to {milesText(travelKm.after)}, straight lines; without
            protected and unknown addresses).
          </p>
          {differing === 0 ? (
            <Empty>
              <p>The two are the same, seat by seat.</p>
            </Empty>
          ) : (
            <>
              <Differences seats={seats} base={base} />
              <nav className="row" aria-label="More seats">
                {compared.page > 1 && (
                  <a className="button" href={`?with=${against.key}&page=${compared.page - 1}`}>
                    ‹ Earlier
                  </a>
                )}
                {compared.pages > 1 && (
                  <span>
                    Page {compared.page} of {compared.pages}
                  </span>
                )}
                {compared.page < compared.pages && (
                  <a className="button" href={`?with=${against.key}&page=${compared.page + 1}`}>
                    Later ›
                  </a>
                )}
                <a className="button" href={`${base}/compare.csv?with=${against.key}`} download>
                  All {differing} as CSV
                </a>
              </nav>
            </>
          )}
        </>
      )}
    </OfficePage>
  )
}

const Differences = ({ seats, base }: { seats: ComparedSeat[]; base: string }) => (
  <TableBox label="Seats that differ">
    <table>
      <thead>
        <tr>
          <th scope="col">Seat</th>
          <th scope="col">Before</th>
          <th scope="col">Now</th>
        </tr>
      </thead>
      <tbody>
        {seats.map((seat) => (
          <tr key={seat.seatId}>
            <th scope="row">
              <a href={`${base}/seats/${seat.seatId}`}>{seat.text}</a>
            </th>
            <td>{seat.before?.name ?? <span className="quiet">empty</span>}</td>
            <td>{seat.after?.name ?? <span className="quiet">empty</span>}</td>
          </tr>
        ))}
      </tbody>
    </table>
  </TableBox>
)
