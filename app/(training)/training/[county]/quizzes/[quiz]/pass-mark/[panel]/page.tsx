import { dateText } from '@/app/(office)/parts/words'
import { ActionForm, Tick } from '@/app/ui/action-form'
import { Figures, Notice, TableBox, Tag } from '@/app/ui/notice'
import { adoptable, cutOf } from '@/lib/assessment/panel'
import { getPanelOrThrow, type PanelDetail } from '@/lib/assessment/queries-panels'
import { requireActor } from '@/lib/auth/session'
import { civilDateAt } from '@/lib/kernel/dates'
import { orNotFound } from '@/lib/web/or-not-found'
import { QuizPage } from '../../quiz-page'
import { adoptPassMarkAction, closePanelAction } from '../actions'
import { Discussion } from './discussion'

export const metadata = { title: 'Panel' }

const percent = (share: number) => `${Math.round(share * 100)} %`
const points = (share: number) => (share * 100).toFixed(1)

/** What talking did to the judges, by the change of the standard error. */
const spreadWords = (change: number): string =>
  Math.abs(change) < 1e-9
    ? 'The judges are as far apart as before they talked.'
    : change < 0
      ? 'The judges came closer to each other.'
      : 'The judges are further apart than before they talked: that needs a word in the record.'

export default async function PanelPage({
  params,
}: {
  params: Promise<{ county: string; quiz: string; panel: string }>
}) {
  const { county: countyId, quiz, panel: panelId } = await params
  const actor = await requireActor(`/training/${countyId}/quizzes/${quiz}/pass-mark/${panelId}`)
  const panel = await orNotFound(getPanelOrThrow(actor, countyId, quiz, panelId))
  const { county, design } = panel
  const base = `/training/${county.id}/quizzes/${design.id}/pass-mark`
  const cuts = [1, 2].map((round) => cutOf(panel.items, panel.ratings, round as 1 | 2))
  const [first, second] = [cuts[0] ?? null, cuts[1] ?? null]
  const shown = second ?? first
  return (
    <QuizPage
      county={county}
      quiz={{ id: design.id, name: design.names.en }}
      here="pass-mark"
      title={`Panel of ${dateText(panel.heldOn)}`}
    >
      <p>
        <a href={base}>All panels of this quiz</a>
      </p>
      {panel.adopted && (
        <Notice kind="good">
          <p>
            A pass mark of <strong>{percent(panel.adopted.cutFraction)}</strong> was adopted from this panel
            on {dateText(civilDateAt(panel.adopted.at, county.timeZone))}.
          </p>
        </Notice>
      )}
      {panel.closedAt && !panel.adopted && (
        <Notice>
          <p>
            Closed on {dateText(civilDateAt(panel.closedAt, county.timeZone))}: this record no longer changes.
            No pass mark has been adopted from it yet.
          </p>
        </Notice>
      )}
      {shown && (
        <>
          <Figures
            items={[
              { name: second ? 'mean, second round' : 'mean, first round', value: percent(shown.fraction) },
              {
                name: 'standard error, points of 100',
                value: shown.standardError === null ? '—' : points(shown.standardError / panel.points),
              },
              { name: 'judges', value: panel.judges.length },
              { name: 'questions', value: panel.items.length },
            ]}
          />
          {first && second && (
            <p>
              Round one: {percent(first.fraction)} with a standard error of{' '}
              {points((first.standardError ?? 0) / panel.points)}. Round two: {percent(second.fraction)} with{' '}
              {points((second.standardError ?? 0) / panel.points)}.{' '}
              {spreadWords((second.standardError ?? 0) - (first.standardError ?? 0))}
            </p>
          )}
        </>
      )}
      <Judges panel={panel} base={`${base}/${panel.id}`} cuts={[first, second]} />
      {first && <Discussion panel={panel} first={first} second={second} />}
      {panel.mayRate && second && (
        <section className="panel">
          <h2>Close the record</h2>
          <p>Closed, it keeps the day, the roles, both rounds and the mean, and no longer changes.</p>
          <ActionForm action={closePanelAction}>
            <input type="hidden" name="countyId" value={county.id} />
            <input type="hidden" name="quizKey" value={design.id} />
            <input type="hidden" name="panelId" value={panel.id} />
            <button type="submit" data-kind="main">
              Close the panel
            </button>
          </ActionForm>
        </section>
      )}
      {panel.closedAt && second && (
        <section className="panel">
          <h2>Adopt a pass mark</h2>
          {panel.mayAdopt ? (
            <ActionForm action={adoptPassMarkAction}>
              <input type="hidden" name="countyId" value={county.id} />
              <input type="hidden" name="panelId" value={panel.id} />
              <fieldset>
                <legend>Which mark?</legend>
                {adoptable(panel.items, second).map((mark) => (
                  <label className="choice" key={mark.key}>
                    <Tick type="radio" name="which" value={mark.key} defaultChecked={mark.key === 'mean'} />
                    <span>
                      <strong>{percent(mark.fraction)}</strong>{' '}
                      {mark.key === 'mean'
                        ? 'the panel’s mean'
                        : mark.key === 'lower'
                          ? 'one standard error lower: fewer able people fail'
                          : 'one standard error higher: fewer unready people pass'}
                    </span>
                  </label>
                ))}
              </fieldset>
              <p className="quiet">
                It counts for sittings that begin from now on. Certificates that people hold stay as they are.
              </p>
              <button type="submit" data-kind="main">
                Adopt it
              </button>
            </ActionForm>
          ) : (
            <p>County staff or an administrator adopts the pass mark from here.</p>
          )}
        </section>
      )}
    </QuizPage>
  )
}

function Judges({
  panel,
  base,
  cuts,
}: {
  panel: PanelDetail
  base: string
  cuts: [ReturnType<typeof cutOf>, ReturnType<typeof cutOf>]
}) {
  const firstDone = panel.judges.every((judge) => judge.rated[0])
  return (
    <section aria-labelledby="judges">
      <h2 id="judges">Judges</h2>
      <TableBox label="Judges and their ratings">
        <table>
          <thead>
            <tr>
              <th scope="col">Role</th>
              <th scope="col">First round</th>
              <th scope="col">Second round</th>
            </tr>
          </thead>
          <tbody>
            {panel.judges.map((judge, i) => (
              <tr key={i}>
                <th scope="row">
                  {i + 1}. {judge.role}
                </th>
                {([0, 1] as const).map((round) => (
                  <td key={round}>
                    {judge.rated[round] ? (
                      cuts[round] ? (
                        percent(cuts[round].byJudge[i]! / panel.points)
                      ) : (
                        <Tag kind="good">✓ rated</Tag>
                      )
                    ) : (
                      <Tag kind="warn">○ open</Tag>
                    )}{' '}
                    {panel.mayRate && (round === 0 || firstDone) && (
                      <a
                        href={`${base}/rate/${i}?round=${round + 1}`}
                        aria-label={`${judge.rated[round] ? 'change' : 'enter'} round ${round + 1} of judge ${i + 1}`}
                      >
                        {judge.rated[round] ? 'change' : 'enter'}
                      </a>
                    )}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </TableBox>
      {panel.mayRate && !firstDone && (
        <p className="quiet">The second round opens when all judges have rated in the first one.</p>
      )}
    </section>
  )
}
