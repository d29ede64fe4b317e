import { Notice, TableBox } from '@/app/ui/notice'
import { getPaperFormOrThrow } from '@/lib/assessment/queries-paper'
import { requireActor } from '@/lib/auth/session'
import { orNotFound } from '@/lib/web/or-not-found'
import { QuizPage } from '../../../quiz-page'

export const metadata = { title: 'Key sheet' }

export default async function KeyPage({
  params,
}: {
  params: Promise<{ county: string; quiz: string; attempt: string }>
}) {
  const { county: countyId, quiz, attempt } = await params
  const actor = await requireActor(`/training/${countyId}/quizzes/${quiz}/paper/${attempt}/key`)
  const form = await orNotFound(getPaperFormOrThrow(actor, countyId, quiz, attempt))
  return (
    <QuizPage
      county={form.county}
      quiz={{ id: quiz, name: form.design.names.en }}
      here="paper"
      title={`Key of form ${form.mark}`}
    >
      <Notice kind="warn">
        <p>
          For the trainer alone. Never leave it with the forms, and destroy it after use. Marking is done by
          the product from what you type; this sheet is for talking about the answers afterwards.
        </p>
      </Notice>
      <p>
        {form.name}, {form.countyRef}.{' '}
        <a className="no-print" href={`/training/${countyId}/quizzes/${quiz}/paper/${attempt}`}>
          Back to the form
        </a>
      </p>
      <TableBox label="Key">
        <table>
          <thead>
            <tr>
              <th scope="col" className="number">
                No.
              </th>
              <th scope="col">Key</th>
              <th scope="col">Question</th>
            </tr>
          </thead>
          <tbody>
            {form.questions.map((question, i) => (
              <tr key={question.id}>
                <td className="number">{i + 1}</td>
                <th scope="row">
                  {question.key} {question.unit}
                </th>
                <td lang={form.locale}>{question.stem}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </TableBox>
    </QuizPage>
  )
}
