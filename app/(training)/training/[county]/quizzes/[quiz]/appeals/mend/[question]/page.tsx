import { ActionForm, Field } from '@/app/ui/action-form'
import { Figures, Notice, TableBox, Tag } from '@/app/ui/notice'
import { rightTexts } from '@/lib/assessment/core/sitting'
import { getMendPage, mendKey, type RemarkPlan } from '@/lib/assessment/queries-appeals'
import { requireActor } from '@/lib/auth/session'
import { orNotFound } from '@/lib/web/or-not-found'
import { QuizPage } from '../../../quiz-page'
import { applyRemarkAction } from '../../actions'

export const metadata = { title: 'Mend a question' }

const percent = (share: number) => `${Math.floor(share * 100 + 1e-9)} %`

export default async function MendPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; quiz: string; question: string }>
  searchParams: Promise<{ version?: string; mend?: string }>
}) {
  const [{ county: countyId, quiz, question: questionId }, { version = '1', mend }] = await Promise.all([
    params,
    searchParams,
  ])
  const actor = await requireActor(`/training/${countyId}/quizzes/${quiz}/appeals`)
  const page = await orNotFound(
    getMendPage(actor, countyId, quiz, {
      questionId,
      version: /^\d{1,4}$/.test(version) ? Number(version) : 0,
      mend,
    }),
  )
  const { county, design, question, mends, chosen, plan, applied } = page
  return (
    <QuizPage
      county={county}
      quiz={{ id: design.id, name: design.names.en }}
      here="appeals"
      title="Mend a question"
    >
      <p className="stem">{question.texts.en.stem}</p>
      <p>
        Key: {rightTexts(question, 'en').join('; ')}. Version {question.version}.
      </p>
      {applied ? (
        <Notice kind="good">
          <p>
            This version of the question was re-marked. It is not drawn again before it has a new version.
          </p>
        </Notice>
      ) : (
        <form method="get">
          <input type="hidden" name="version" value={question.version} />
          <fieldset>
            <legend>What is right?</legend>
            {mends.map((each, i) => (
              <label className="choice" key={mendKey(each.mend)}>
                <input
                  type="radio"
                  name="mend"
                  value={mendKey(each.mend)}
                  defaultChecked={chosen ? mendKey(each.mend) === mendKey(chosen) : i === 0}
                />
                <span>{each.words}</span>
              </label>
            ))}
          </fieldset>
          <button type="submit" data-kind={plan ? undefined : 'main'}>
            Show whose result changes
          </button>
        </form>
      )}
      {plan && chosen && (
        <>
          <Plan plan={plan} />
          <section className="panel">
            <h2>Apply it</h2>
            <p>
              Everybody who had the question is marked again, as shown. New passes count from the day of the
              sitting; passes that are none any more stop counting today, and certificates follow. Whoever
              gets another result is told by e-mail, and reads it with their result. The question is not drawn
              again before it has a new version.
            </p>
            <ActionForm action={applyRemarkAction}>
              <input type="hidden" name="countyId" value={county.id} />
              <input type="hidden" name="quizKey" value={design.id} />
              <input type="hidden" name="questionId" value={question.id} />
              <input type="hidden" name="version" value={question.version} />
              <input type="hidden" name="mend" value={mendKey(chosen)} />
              <input type="hidden" name="expected" value={plan.mark} />
              <Field
                name="reason"
                label="What was wrong?"
                hint="It stands in the record, and everybody whose result changes reads it."
                autoComplete="off"
              />
              <button type="submit" data-kind="main">
                Mark everybody again
              </button>
            </ActionForm>
          </section>
        </>
      )}
    </QuizPage>
  )
}

const Verdict = ({ passed }: { passed: boolean }) => (
  <Tag kind={passed ? 'good' : 'warn'}>{passed ? '✓ passed' : '– not passed'}</Tag>
)

function Plan({ plan }: { plan: RemarkPlan }) {
  const turned = plan.changes.filter((c) => c.before.passed !== c.after.passed)
  const up = turned.filter((c) => c.after.passed).length
  return (
    <section aria-labelledby="changes">
      <h2 id="changes">Whose result changes</h2>
      <Figures
        items={[
          { name: 'sittings with the question', value: plan.attempts },
          { name: 'scores change', value: plan.changes.length },
          { name: 'now pass', value: up },
          { name: 'no longer pass', value: turned.length - up },
        ]}
      />
      {turned.length - up > 0 && (
        <Notice kind="warn">
          <p>
            Some people lose a pass, and with it perhaps a certificate. Look at each of them, and tell them
            before you apply it.
          </p>
        </Notice>
      )}
      {plan.changes.length > 0 && (
        <TableBox label="Changed results, changed verdicts first">
          <table>
            <thead>
              <tr>
                <th scope="col">Person</th>
                <th scope="col">Before</th>
                <th scope="col">After</th>
                <th scope="col">Is told</th>
              </tr>
            </thead>
            <tbody>
              {[...turned, ...plan.changes.filter((c) => !turned.includes(c))].map((change) => (
                <tr key={change.attemptId}>
                  <th scope="row">{change.name}</th>
                  <td>
                    {percent(change.before.scoreFraction)} <Verdict passed={change.before.passed} />
                  </td>
                  <td>
                    {percent(change.after.scoreFraction)} <Verdict passed={change.after.passed} />
                  </td>
                  <td>{change.mailed ? 'by e-mail' : 'no e-mail: call or write'}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      )}
    </section>
  )
}
