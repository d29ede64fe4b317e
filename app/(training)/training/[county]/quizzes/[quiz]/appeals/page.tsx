import { dateText } from '@/app/(office)/parts/words'
import { ActionForm, Field } from '@/app/ui/action-form'
import { Empty, TableBox, Tag } from '@/app/ui/notice'
import { type AppealRow, getAppealsPage } from '@/lib/assessment/queries-appeals'
import { isUnderWay } from '@/lib/assessment/queries-work'
import { requireActor } from '@/lib/auth/session'
import { orNotFound } from '@/lib/web/or-not-found'
import { QuizPage } from '../quiz-page'
import { UnderWay } from '../under-way'
import { rejectAppealAction } from './actions'

export const metadata = { title: 'Appeals' }

export default async function AppealsPage({ params }: { params: Promise<{ county: string; quiz: string }> }) {
  const { county: countyId, quiz } = await params
  const actor = await requireActor(`/training/${countyId}/quizzes/${quiz}/appeals`)
  const { county, design, appeals, remarks, work, mayDecide, mayEnter } = await orNotFound(
    getAppealsPage(actor, countyId, quiz),
  )
  const base = `/training/${county.id}/quizzes/${design.id}`
  const open = appeals.filter((appeal) => appeal.decision === null)
  return (
    <QuizPage
      county={county}
      quiz={{ id: design.id, name: design.names.en }}
      here="appeals"
      openAppeals={open.length}
    >
      <p>
        Anybody can say on their result page that a question is wrong. A question that is faulty is mended for
        everybody who had it, not for one person.
      </p>
      {mayEnter && (
        <p>
          <a href={`${base}/appeals/enter`}>Enter an appeal for somebody who doesn’t use screens</a>
        </p>
      )}
      <UnderWay
        work={work}
        kind="remark"
        quiz={{ countyId: county.id, quizKey: design.id }}
        mayStop={mayDecide}
        label="A question is being re-marked"
        stopped="The re-mark was stopped. Nothing was changed."
      >
        {work && (
          <p>
            {mayDecide && !isUnderWay(work) ? (
              <a href={`${base}/appeals/mend/${work.mendHref}`}>{work.stem}</a>
            ) : (
              work.stem
            )}
          </p>
        )}
      </UnderWay>
      {appeals.length === 0 ? (
        <Empty>
          <p>Nobody has appealed against a question of this quiz.</p>
        </Empty>
      ) : (
        appeals.map((appeal) => (
          <Appeal
            key={appeal.id}
            appeal={appeal}
            base={base}
            countyId={county.id}
            quizKey={design.id}
            mayDecide={mayDecide}
          />
        ))
      )}
      <h2>Re-marked questions</h2>
      {remarks.length === 0 ? (
        <p>None so far. A question is mended from its appeal, or from its page among the figures.</p>
      ) : (
        <TableBox label="Re-marked questions">
          <table>
            <thead>
              <tr>
                <th scope="col">Question</th>
                <th scope="col">Mend</th>
                <th scope="col">Why</th>
                <th scope="col">On</th>
                <th scope="col" className="number">
                  Marked again
                </th>
                <th scope="col" className="number">
                  Changed
                </th>
              </tr>
            </thead>
            <tbody>
              {remarks.map((row) => (
                <tr key={row.id}>
                  <th scope="row" className="question-cell">
                    {row.stem}
                  </th>
                  <td>{row.what}</td>
                  <td>{row.reason}</td>
                  <td className="one-line">{dateText(row.appliedOn)}</td>
                  <td className="number">{row.attempts}</td>
                  <td className="number">{row.changed}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      )}
    </QuizPage>
  )
}

const Appeal = ({
  appeal,
  base,
  countyId,
  quizKey,
  mayDecide,
}: {
  appeal: AppealRow
  base: string
  countyId: string
  quizKey: string
  mayDecide: boolean
}) => (
  <article className="panel" aria-label={`Appeal of ${appeal.name}`}>
    <p className="row">
      <strong>{appeal.name}</strong>
      <span className="quiet">
        {appeal.askedOn
          ? `asked on ${dateText(appeal.askedOn)}, entered by staff on ${dateText(appeal.enteredOn)}`
          : dateText(appeal.enteredOn)}
      </span>
      {appeal.decision === null ? (
        <Tag kind="warn">○ open</Tag>
      ) : (
        <Tag kind={appeal.decision === 'upheld' ? 'good' : 'info'}>
          {appeal.decision === 'upheld' ? '✓ upheld' : '– rejected'}
        </Tag>
      )}
    </p>
    <p>
      <a href={`${base}/questions/${appeal.questionId}`}>{appeal.stem}</a>
    </p>
    <p>
      Answered: {appeal.given.join('; ') || 'nothing'}. Key: {appeal.right.join('; ')}.
    </p>
    <blockquote>{appeal.text}</blockquote>
    {appeal.decisionText && <p>Decision: {appeal.decisionText}</p>}
    {appeal.decision === null && mayDecide && (
      <>
        <p>
          <a
            className="button"
            href={`${base}/appeals/mend/${appeal.questionId}?version=${appeal.questionVersion}`}
          >
            The question is faulty
          </a>
        </p>
        <ActionForm action={rejectAppealAction} fold="The question stands">
          <input type="hidden" name="countyId" value={countyId} />
          <input type="hidden" name="quizKey" value={quizKey} />
          <input type="hidden" name="appealId" value={appeal.id} />
          <Field name="why" label="Why? The person reads this." autoComplete="off" />
          <button type="submit">Reject the appeal</button>
        </ActionForm>
      </>
    )}
  </article>
)
