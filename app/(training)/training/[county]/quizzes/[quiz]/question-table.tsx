import { TableBox, Tag } from '@/app/ui/notice'
import type { QuizReport } from '@/lib/assessment/core/quiz-report'
import { type Advice, tellsApartWords } from '@/lib/assessment/core/quiz-words'
import type { AskedQuestion } from '@/lib/assessment/queries-statistics'
import { ShareBar } from '../plots'

const two = (value: number | null | undefined) => (value == null ? '—' : value.toFixed(2).replace('-', '−'))

/** Every question that was asked, the hardest first. */
export const QuestionTable = ({
  report,
  asked,
  advice,
  base,
}: {
  report: QuizReport
  asked: ReadonlyMap<string, AskedQuestion>
  advice: ReadonlyMap<string, Advice[]>
  base: string
}) => (
  <section aria-labelledby="questions">
    <h2 id="questions">Questions</h2>
    <TableBox label="Questions">
      <table>
        <thead>
          <tr>
            <th scope="col">Question</th>
            <th scope="col">Right</th>
            <th scope="col">Tells apart</th>
            <th scope="col" className="number">
              Difficulty
            </th>
            <th scope="col" className="number">
              Answers
            </th>
            <th scope="col" className="number">
              In forms
            </th>
            <th scope="col">What to do</th>
          </tr>
        </thead>
        <tbody>
          {report.items
            .toSorted((a, b) => (a.p ?? 2) - (b.p ?? 2))
            .map((item) => {
              const about = asked.get(item.id)!
              const own = advice.get(item.id)!
              return (
                <tr key={item.id}>
                  <th scope="row" className="question-cell">
                    <a href={`${base}/questions/${item.id}`}>{about.text}</a>
                    {about.lifecycle && about.lifecycle !== 'live' && (
                      <>
                        {' '}
                        <Tag>{about.lifecycle}</Tag>
                      </>
                    )}
                  </th>
                  <td className="one-line">
                    {item.p === null ? '—' : `${Math.round(item.p * 100)} %`}
                    {item.p !== null && <ShareBar share={item.p} />}
                  </td>
                  <td className="one-line">
                    {tellsApartWords(item.correctedPointBiserial)}{' '}
                    <span className="quiet">({two(item.correctedPointBiserial)})</span>
                  </td>
                  <td className="number">{two(item.rasch?.difficulty)}</td>
                  <td className="number">{item.people}</td>
                  <td className="number">{Math.round(item.exposure * 100)} %</td>
                  <td className="advice-cell">{own.map((a) => a.text).join(' ') || 'Nothing.'}</td>
                </tr>
              )
            })}
        </tbody>
      </table>
    </TableBox>
  </section>
)
