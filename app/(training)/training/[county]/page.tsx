import { Empty, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { listTrainees } from '@/lib/classes/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { TrainingPage } from '../../parts/training-page'

export const metadata = { title: 'Check-offs' }

export default async function TraineesPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Promise<{ search?: string; page?: string }>
}) {
  const [{ county: countyId }, { search = '', page: pageText = '0' }] = await Promise.all([
    params,
    searchParams,
  ])
  const page = Math.max(0, Math.min(5000, Number.parseInt(pageText, 10) || 0))
  const { county, rows, more } = await orNotFound(
    listTrainees(await requireActor(), countyId, { search: search.slice(0, 100), page }),
  )
  const link = (to: number) => `/training/${county.id}?search=${encodeURIComponent(search)}&page=${to}`
  return (
    <TrainingPage title="Check-offs" here="check-offs" county={county}>
      <p className="lead">Find the person in front of you, watch the task done by hand, and record it.</p>
      <search>
        <form className="row at-end" method="get">
          <div className="field">
            <label htmlFor="search">Name or county number</label>
            <input id="search" name="search" defaultValue={search} autoComplete="off" />
          </div>
          <button type="submit" data-kind="main">
            Find
          </button>
          <a
            className="button"
            href={`/training/${county.id}/check-offs.csv?search=${encodeURIComponent(search)}`}
            download
          >
            These as CSV
          </a>
        </form>
      </search>
      {rows.length === 0 ? (
        <Empty>
          <p>Nobody is called “{search}” here. Try only the beginning of the family name.</p>
          <p>
            <a href={`/training/${county.id}`}>Show everybody</a>
          </p>
        </Empty>
      ) : (
        <ul className="listed">
          {rows.map((row) => (
            <li key={row.id}>
              <p>
                <a href={`/training/${county.id}/${row.id}`}>{row.name}</a>{' '}
                <span className="quiet small">{row.countyRef}</span>
              </p>
              <p className="small">
                {row.wants === null
                  ? 'Has not said yet as what to work'
                  : `${row.wants.en}. Lessons, quizzes, classes: ${row.otherMissing === 0 ? 'all done' : `${row.otherMissing} open`}`}
              </p>
              {row.wants !== null && (
                <p className="row">
                  {row.missing.length === 0 ? (
                    <Tag kind="good">✓ nothing open by hand</Tag>
                  ) : (
                    row.missing.map((task) => (
                      <Tag kind="warn" key={task.key}>
                        ○ {task.label.en}
                      </Tag>
                    ))
                  )}
                </p>
              )}
            </li>
          ))}
        </ul>
      )}
      <nav className="row" aria-label="Pages of the list">
        {page > 0 && (
          <a className="button" href={link(page - 1)}>
            Earlier names
          </a>
        )}
        {more && (
          <a className="button" href={link(page + 1)}>
            Later names
          </a>
        )}
      </nav>
    </TrainingPage>
  )
}
