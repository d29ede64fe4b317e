import { Empty, TableBox, Tag } from '@/app/ui/notice'
import { listQuizRows } from '@/lib/assessment/queries-statistics'
import { requireActor } from '@/lib/auth/session'
import { orNotFound } from '@/lib/web/or-not-found'
import { TrainingPage } from '../../../parts/training-page'

export const metadata = { title: 'Quizzes' }

const percent = (share: number) => `${Math.round(share * 100)} %`

export default async function QuizzesPage({ params }: { params: Promise<{ county: string }> }) {
  const { county: countyId } = await params
  const actor = await requireActor(`/training/${countyId}/quizzes`)
  const { county, rows } = await orNotFound(listQuizRows(actor, countyId))
  const base = `/training/${county.id}/quizzes`
  return (
    <TrainingPage title="Quizzes" here="quizzes" county={county}>
      <p className="lead">Which questions work, where the pass mark comes from, and quizzes on paper.</p>
      {rows.length === 0 ? (
        <Empty>
          <p>There is no quiz yet. Quizzes come with the product’s content.</p>
        </Empty>
      ) : (
        <TableBox label="Quizzes">
          <table>
            <thead>
              <tr>
                <th scope="col">Quiz</th>
                <th scope="col" className="number">
                  Sittings
                </th>
                <th scope="col" className="number">
                  People
                </th>
                <th scope="col" className="number">
                  Passed
                </th>
                <th scope="col" className="number">
                  Mean score
                </th>
                <th scope="col">Pass mark</th>
                <th scope="col">Open</th>
              </tr>
            </thead>
            <tbody>
              {rows.map((row) => (
                <tr key={row.key}>
                  <th scope="row">
                    <a href={`${base}/${row.key}`}>{row.title}</a>
                  </th>
                  <td className="number">{row.sittings}</td>
                  <td className="number">{row.people}</td>
                  <td className="number">{row.passed}</td>
                  <td className="number">{row.meanFraction === null ? '—' : percent(row.meanFraction)}</td>
                  <td>
                    {percent(row.cutFraction)},{' '}
                    {row.cutAdoptedOn ? `adopted ${row.cutAdoptedOn}` : 'as it came with the quiz'}
                  </td>
                  <td>
                    {row.openAppeals > 0 && (
                      <Tag kind="warn">
                        ! {row.openAppeals} {row.openAppeals === 1 ? 'appeal' : 'appeals'}
                      </Tag>
                    )}{' '}
                    {row.openPaper > 0 && <Tag>{row.openPaper} on paper</Tag>}
                    {row.openAppeals + row.openPaper === 0 && 'nothing'}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      )}
    </TrainingPage>
  )
}
