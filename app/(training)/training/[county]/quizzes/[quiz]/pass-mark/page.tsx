import { dateText } from '@/app/(office)/parts/words'
import { ActionForm, Field, LongField, Tick } from '@/app/ui/action-form'
import { Empty, Notice, TableBox, Tag } from '@/app/ui/notice'
import { getPassMarkPage, type PanelRow } from '@/lib/assessment/queries-panels'
import { requireActor } from '@/lib/auth/session'
import { systemClock } from '@/lib/kernel/clock'
import { civilDateAt } from '@/lib/kernel/dates'
import { orNotFound } from '@/lib/web/or-not-found'
import { QuizPage } from '../quiz-page'
import { beginPanelAction } from './actions'

export const metadata = { title: 'Pass mark' }

const percent = (share: number) => `${Math.round(share * 100)} %`
const STATES: Record<PanelRow['state'], { kind: 'info' | 'good' | 'warn'; text: string }> = {
  open: { kind: 'warn', text: '○ being held' },
  closed: { kind: 'info', text: '■ closed' },
  adopted: { kind: 'good', text: '✓ adopted' },
}

export default async function PassMarkPage({
  params,
}: {
  params: Promise<{ county: string; quiz: string }>
}) {
  const { county: countyId, quiz } = await params
  const actor = await requireActor(`/training/${countyId}/quizzes/${quiz}/pass-mark`)
  const { county, design, adopted, panels, mayHold } = await orNotFound(
    getPassMarkPage(actor, countyId, quiz),
  )
  const base = `/training/${county.id}/quizzes/${design.id}/pass-mark`
  const today = civilDateAt(systemClock.now(), county.timeZone)
  return (
    <QuizPage county={county} quiz={{ id: design.id, name: design.names.en }} here="pass-mark">
      <Notice kind={adopted ? 'good' : 'info'}>
        <p>
          {adopted ? (
            <>
              The pass mark is <strong>{percent(adopted.cutFraction)}</strong>, adopted on{' '}
              {dateText(adopted.adoptedOn)} from{' '}
              <a href={`${base}/${adopted.panelId}`}>a panel of this county</a>.
            </>
          ) : (
            <>
              The pass mark is <strong>{percent(design.passing.cutFraction)}</strong>, as it came with the
              quiz: common practice, not this county’s own judgement. A panel can set it.
            </>
          )}
        </p>
      </Notice>
      <p>
        In a panel, people who know the work picture somebody who is <em>just</em> ready, and say of each
        question how many of a hundred such people would be right. They talk about the questions on which they
        differ, and say it again. The mean is where the pass mark belongs (modified Angoff method).
      </p>
      <h2>Panels</h2>
      {panels.length === 0 ? (
        <Empty>
          <p>No panel has been held yet.</p>
        </Empty>
      ) : (
        <TableBox label="Panels">
          <table>
            <thead>
              <tr>
                <th scope="col">Held on</th>
                <th scope="col" className="number">
                  Judges
                </th>
                <th scope="col" className="number">
                  Questions
                </th>
                <th scope="col" className="number">
                  Mean
                </th>
                <th scope="col">State</th>
              </tr>
            </thead>
            <tbody>
              {panels.map((panel) => (
                <tr key={panel.id}>
                  <th scope="row" className="one-line">
                    <a href={`${base}/${panel.id}`}>{dateText(panel.heldOn)}</a>
                  </th>
                  <td className="number">{panel.judges}</td>
                  <td className="number">{panel.items}</td>
                  <td className="number">{panel.fraction === null ? '—' : percent(panel.fraction)}</td>
                  <td>
                    <Tag kind={STATES[panel.state].kind}>{STATES[panel.state].text}</Tag>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      )}
      {mayHold && (
        <section className="panel">
          <h2>Hold a panel</h2>
          <ActionForm action={beginPanelAction}>
            <input type="hidden" name="countyId" value={county.id} />
            <input type="hidden" name="quizKey" value={design.id} />
            <Field
              name="heldOn"
              label="Day of the panel"
              type="date"
              defaultValue={today}
              max={today}
              required
            />
            <LongField
              name="roles"
              label="Judges: one role a line"
              hint="What they do, not their names: “lead, nine elections”, “clerk’s deputy”, “trainer”. At least five is common practice."
              rows={6}
            />
            <fieldset>
              <legend>How many questions?</legend>
              {[1, 2, 3].map((forms) => (
                <label className="choice" key={forms}>
                  <Tick type="radio" name="forms" value={String(forms)} defaultChecked={forms === 2} />
                  <span>
                    {forms === 1
                      ? 'Those of one form'
                      : `Those of ${forms} forms: ${forms === 2 ? 'the usual choice' : 'more work, a steadier mean'}`}
                  </span>
                </label>
              ))}
            </fieldset>
            <button type="submit" data-kind="main">
              Begin
            </button>
          </ActionForm>
        </section>
      )}
    </QuizPage>
  )
}
