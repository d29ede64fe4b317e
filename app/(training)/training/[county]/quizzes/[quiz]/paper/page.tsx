import { dateText } from '@/app/(office)/parts/words'
import { ActionForm, Field, Tick } from '@/app/ui/action-form'
import { Empty, TableBox, Tag } from '@/app/ui/notice'
import { getPaperPage, type PaperRow } from '@/lib/assessment/queries-paper'
import { requireActor } from '@/lib/auth/session'
import { orNotFound } from '@/lib/web/or-not-found'
import { QuizPage } from '../quiz-page'
import { doubleEntryAction, drawPaperAction } from './actions'

export const metadata = { title: 'Quizzes on paper' }

const State = ({ row, doubleEntry }: { row: PaperRow; doubleEntry: boolean }) => {
  if (row.passed !== null)
    return (
      <>
        <Tag kind={row.passed ? 'good' : 'info'}>{row.passed ? '✓ passed' : '– not passed'}</Tag>{' '}
        {row.scoreFraction !== null && `${Math.floor(row.scoreFraction * 100 + 1e-9)} %`}
      </>
    )
  if (row.withdrawn)
    return (
      <>
        <Tag kind="info">– withdrawn</Tag> {row.withdrawn}
      </>
    )
  if (row.typists === 0) return <Tag kind="warn">○ out</Tag>
  return (
    <Tag kind="warn">
      {doubleEntry && row.typists === 1 ? '○ a second typing is needed' : '! typings differ'}
    </Tag>
  )
}

export default async function PaperPage({ params }: { params: Promise<{ county: string; quiz: string }> }) {
  const { county: countyId, quiz } = await params
  const actor = await requireActor(`/training/${countyId}/quizzes/${quiz}/paper`)
  const { county, design, rows, doubleEntry, mayRun, maySet } = await orNotFound(
    getPaperPage(actor, countyId, quiz),
  )
  const base = `/training/${county.id}/quizzes/${design.id}/paper`
  return (
    <QuizPage county={county} quiz={{ id: design.id, name: design.names.en }} here="paper">
      <p>
        For people who don’t use screens: a form of their own, printed, with an answer sheet. What you type
        from the sheet is marked like any other sitting, and counts the same.
        {design.scenarios.length > 0 &&
          ' The story of the quiz can’t be played on paper; its points are asked as questions on the same subject.'}
      </p>
      {mayRun && (
        <section className="panel">
          <h2>Draw a form</h2>
          <ActionForm action={drawPaperAction}>
            <input type="hidden" name="countyId" value={county.id} />
            <input type="hidden" name="quizKey" value={design.id} />
            <Field
              name="countyRef"
              label="The person’s county number"
              hint="It stands in the list of check-offs."
              autoComplete="off"
              required
            />
            <fieldset>
              <legend>Language</legend>
              <label className="choice">
                <Tick type="radio" name="locale" value="en" defaultChecked />
                <span>English</span>
              </label>
              <label className="choice">
                <Tick type="radio" name="locale" value="es" />
                <span lang="es">Español</span>
              </label>
            </fieldset>
            <button type="submit" data-kind="main">
              Draw and print
            </button>
          </ActionForm>
        </section>
      )}
      <h2>Forms on paper</h2>
      {rows.length === 0 ? (
        <Empty>
          <p>No form has been drawn for paper yet.</p>
        </Empty>
      ) : (
        <TableBox label="Forms on paper">
          <table>
            <thead>
              <tr>
                <th scope="col">Person</th>
                <th scope="col">Number</th>
                <th scope="col">Drawn on</th>
                <th scope="col">State</th>
                {mayRun && <th scope="col">Do</th>}
              </tr>
            </thead>
            <tbody>
              {rows.map((row) => (
                <tr key={row.attemptId}>
                  <th scope="row">{row.name}</th>
                  <td className="one-line">{row.countyRef}</td>
                  <td className="one-line">{dateText(row.drawnOn)}</td>
                  <td>
                    <State row={row} doubleEntry={doubleEntry} />
                  </td>
                  {mayRun && (
                    <td>
                      {row.passed === null && !row.withdrawn && (
                        <>
                          <a
                            href={`${base}/${row.attemptId}/type`}
                            aria-label={`type answers of ${row.name}`}
                          >
                            type answers
                          </a>
                          {' · '}
                        </>
                      )}
                      <a href={`${base}/${row.attemptId}`} aria-label={`print the form of ${row.name}`}>
                        print
                      </a>
                    </td>
                  )}
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      )}
      <section className="panel">
        <h2>Two typings</h2>
        <p>
          {doubleEntry
            ? 'In this county two people type each sheet; the quiz is marked when they agree.'
            : 'In this county one typing is enough. Typing errors then go unseen.'}
        </p>
        {maySet && (
          <ActionForm action={doubleEntryAction}>
            <input type="hidden" name="countyId" value={county.id} />
            <input type="hidden" name="required" value={doubleEntry ? 'no' : 'yes'} />
            <button type="submit">{doubleEntry ? 'One typing is enough' : 'Ask for two typings'}</button>
          </ActionForm>
        )}
      </section>
    </QuizPage>
  )
}
