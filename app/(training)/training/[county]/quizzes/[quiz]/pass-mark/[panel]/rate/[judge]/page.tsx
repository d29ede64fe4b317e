import { notFound } from 'next/navigation'
import { ActionForm, Field } from '@/app/ui/action-form'
import { getPanelOrThrow } from '@/lib/assessment/queries-panels'
import { requireActor } from '@/lib/auth/session'
import { orNotFound } from '@/lib/web/or-not-found'
import { QuizPage } from '../../../../quiz-page'
import { ratePanelAction } from '../../../actions'

export const metadata = { title: 'Ratings' }

export default async function RatePage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; quiz: string; panel: string; judge: string }>
  searchParams: Promise<{ round?: string }>
}) {
  const [{ county: countyId, quiz, panel: panelId, judge: word }, { round: roundWord }] = await Promise.all([
    params,
    searchParams,
  ])
  const actor = await requireActor(`/training/${countyId}/quizzes/${quiz}/pass-mark/${panelId}`)
  const panel = await orNotFound(getPanelOrThrow(actor, countyId, quiz, panelId))
  const judge = /^\d{1,2}$/.test(word) ? Number(word) : -1
  const round = roundWord === '2' ? 2 : 1
  const own = panel.judges[judge]
  if (!own || !panel.mayRate) notFound()
  const kept = (i: number) => panel.ratings[round - 1]![judge]![i] ?? panel.ratings[0][judge]![i] ?? null
  return (
    <QuizPage
      county={panel.county}
      quiz={{ id: panel.design.id, name: panel.design.names.en }}
      here="pass-mark"
      title={`Judge ${judge + 1}, round ${round}`}
    >
      <p>
        {own.role}. Picture a hundred people who are <strong>just ready</strong> to work at the polls. How
        many of them are right?
        {round === 2 &&
          ' The numbers of the first round stand in the fields: change those that you see otherwise now.'}
      </p>
      <ActionForm action={ratePanelAction}>
        <input type="hidden" name="countyId" value={panel.county.id} />
        <input type="hidden" name="quizKey" value={panel.design.id} />
        <input type="hidden" name="panelId" value={panel.id} />
        <input type="hidden" name="judge" value={judge} />
        <input type="hidden" name="round" value={round} />
        <ol className="rate-list">
          {panel.items.map((item, i) => {
            const before = kept(i)
            return (
              <li key={item.id}>
                <p>
                  {item.asked.text}
                  {item.kind === 'story' &&
                    ' (a story that is played: give the mean share of its points, in percent)'}
                </p>
                {item.asked.options.length > 0 ? (
                  <ul className="small">
                    {item.asked.options.map((option) => (
                      <li key={option.id}>
                        {option.right ? '✓ ' : ''}
                        {option.text}
                        {option.right && <span className="only-heard"> (right)</span>}
                      </li>
                    ))}
                  </ul>
                ) : (
                  item.asked.right.length > 0 && (
                    <p className="small quiet">Right: {item.asked.right.join('; ')}</p>
                  )
                )}
                <Field
                  name={`rating-${item.id}`}
                  label={`Question ${i + 1}: of 100, how many?`}
                  inputMode="numeric"
                  autoComplete="off"
                  className="short-number"
                  defaultValue={before === null ? '' : String(Math.round(before * 100))}
                />
              </li>
            )
          })}
        </ol>
        <button type="submit" data-kind="main">
          Keep these ratings
        </button>
      </ActionForm>
    </QuizPage>
  )
}
