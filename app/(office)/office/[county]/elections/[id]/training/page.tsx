import { Empty, Figures, Notice, TableBox } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getTrainingList } from '@/lib/roster/queries-papers'
import { orNotFound } from '@/lib/web/or-not-found'
import { OfficePage } from '../../../../../parts/office-page'
import { PageTurner } from '../../../../../parts/page-turner'
import { dateText } from '../../../../../parts/words'

export const metadata = { title: 'Whom to train next' }

/** Rows of one page. */
const ROWS = 200

export default async function TrainingListPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; id: string }>
  searchParams: Promise<{ page?: string }>
}) {
  const [{ county, id }, search] = await Promise.all([params, searchParams])
  const actor = await requireActor(`/office/${county}/elections/${id}/training`)
  const list = await orNotFound(getTrainingList(actor, county, id))
  const base = `/office/${county}/elections/${id}`
  const pages = Math.max(1, Math.ceil(list.lines.length / ROWS))
  const page = Math.min(pages, Math.max(1, Math.floor(Number(search.page) || 1)))
  return (
    <OfficePage
      title="Whom to train next"
      crumbs={[
        { href: `/office/${county}`, name: list.head.countyName },
        { href: base, name: list.head.name },
      ]}
    >
      {list.ranAt === null ? (
        <Empty>
          <p>
            There is no list yet: <a href={base}>fill the seats first</a>. The run finds which people, trained
            in what, would fill the seats that stay empty.
          </p>
        </Empty>
      ) : (
        <>
          <p className="lead">
            For {list.head.name}, {dateText(list.head.heldOn)}. Each training below fills the seats beside it,
            or one of a position that comes first; this was checked on a roster with these people certified.
          </p>
          {list.changedSince && (
            <Notice kind="warn">
              <p>
                The roster was changed after this list was made. <a href={base}>Fill the seats again</a> for a
                new one.
              </p>
            </Notice>
          )}
          <Figures
            items={[
              { name: `of ${list.seats} seats filled now`, value: list.filled },
              { name: 'with this training', value: list.filledWithTraining },
              { name: 'trainings', value: list.lines.length },
              ...(list.violations && list.violations.before + list.violations.after > 0
                ? [
                    { name: 'wishes of the county missed now', value: list.violations.before },
                    { name: 'missed with this training', value: list.violations.after },
                  ]
                : []),
            ]}
          />
          {list.lines.length === 0 ? (
            <Empty>
              <p>
                {list.filled === list.seats
                  ? 'Every seat is filled: no training is needed for this election.'
                  : 'No training of the people on the list would fill another seat in time. More people are needed.'}
              </p>
            </Empty>
          ) : (
            <>
              <p className="row no-print">
                <a className="button" href={`${base}/training.csv`} download>
                  List as CSV
                </a>
                <span className="quiet">For paper, use your browser’s print command.</span>
              </p>
              <TableBox label="Whom to train next">
                <table>
                  <thead>
                    <tr>
                      <th scope="col">Person</th>
                      <th scope="col">Train for</th>
                      <th scope="col">Still to do</th>
                      <th scope="col">Would sit as</th>
                    </tr>
                  </thead>
                  <tbody>
                    {list.lines.slice((page - 1) * ROWS, page * ROWS).map((line) => (
                      <tr key={`${line.personId} ${line.certificateName}`}>
                        <th scope="row">
                          <a href={`/office/${county}/people/${line.personId}`}>{line.name}</a>
                          <br />
                          <span className="small quiet">
                            {line.countyRef} {line.phone}
                          </span>
                        </th>
                        <td>{line.certificateName}</td>
                        <td>
                          <ul>
                            {line.missing.map((item) => (
                              <li key={item}>{item}</li>
                            ))}
                          </ul>
                        </td>
                        <td>
                          <a href={`${base}/seats/${line.takes.id}`}>{line.takes.text}</a>
                          {line.seats.map((seat) => (
                            <div key={seat.id} className="small">
                              so that somebody can move to{' '}
                              <a href={`${base}/seats/${seat.id}`}>{seat.text}</a>
                            </div>
                          ))}
                          {line.mends > 0 && (
                            <div className="small">
                              as many seats are filled without it, but {line.mends} more{' '}
                              {line.mends === 1 ? 'wish' : 'wishes'} of the county missed
                            </div>
                          )}
                        </td>
                      </tr>
                    ))}
                  </tbody>
                </table>
              </TableBox>
              <PageTurner
                name="More people"
                of="people"
                page={page}
                pages={pages}
                linkTo={(to) => `?page=${to}`}
              />
            </>
          )}
        </>
      )}
    </OfficePage>
  )
}
