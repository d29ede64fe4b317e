import { dateText } from '@/app/(office)/parts/words'
import { ActionForm } from '@/app/ui/action-form'
import { Empty, Figures } from '@/app/ui/notice'
import { askForStatistics } from '@/lib/assessment/commands-statistics'
import { itemAdvice, quizWords } from '@/lib/assessment/core/quiz-words'
import { askedQuestions, getQuizFigures, type StatisticsState } from '@/lib/assessment/queries-statistics'
import { isUnderWay } from '@/lib/assessment/queries-work'
import { requireActor } from '@/lib/auth/session'
import { civilDateAt } from '@/lib/kernel/dates'
import { orNotFound } from '@/lib/web/or-not-found'
import { ItemMap, ScoreHistogram } from '../plots'
import { refreshStatisticsAction } from './actions'
import { Methods } from './methods'
import { QuestionTable } from './question-table'
import { QuizPage } from './quiz-page'
import { UnderWay } from './under-way'

export const metadata = { title: 'Quiz figures' }

const percent = (share: number | null) => (share === null ? '—' : `${Math.round(share * 100)} %`)
/** Figures older than this are worked out again by themselves when somebody looks. */
const STALE_MS = 10 * 60_000

const isOld = (state: StatisticsState) =>
  state.status === 'none' || (!state.fresh && Date.now() - state.computedAt.getTime() > STALE_MS)

export default async function QuizFiguresPage({
  params,
}: {
  params: Promise<{ county: string; quiz: string }>
}) {
  const { county: countyId, quiz } = await params
  const actor = await requireActor(`/training/${countyId}/quizzes/${quiz}`)
  const figures = await orNotFound(getQuizFigures(actor, countyId, quiz))
  const { county, design, state, finished, openAppeals } = figures
  let { work } = figures
  // What somebody stopped, or what failed, waits for the button.
  const endedEarly = work?.status === 'cancelled' || work?.status === 'failed'
  if (!isUnderWay(work) && !endedEarly && finished > 0 && isOld(state)) {
    await askForStatistics(actor, countyId, quiz)
    work = (await getQuizFigures(actor, countyId, quiz)).work
  }
  const base = `/training/${county.id}/quizzes/${design.id}`
  const report = state.status === 'ready' ? state.report : null
  return (
    <QuizPage
      county={county}
      quiz={{ id: design.id, name: design.names.en }}
      here="figures"
      openAppeals={openAppeals}
    >
      <UnderWay
        work={work}
        kind="statistics"
        quiz={{ countyId: county.id, quizKey: design.id }}
        mayStop
        label={report ? 'The figures are being worked out anew' : 'The figures are being worked out'}
        stopped={
          report
            ? 'The work on the figures was stopped. Those below are the earlier ones.'
            : 'The work on the figures was stopped.'
        }
      >
        {endedEarly && !report && <WorkOut countyId={county.id} quizKey={design.id} text="Work them out" />}
      </UnderWay>
      {finished === 0 && (
        <Empty>
          <p>Nobody has finished this quiz yet. Its figures appear here with the first sittings.</p>
        </Empty>
      )}
      {report && finished > 0 && <Report report={report} base={base} />}
      {state.status === 'ready' && finished > 0 && (
        <div className="no-print">
          <p className="quiet">
            Worked out {dateText(civilDateAt(state.computedAt, county.timeZone))}
            {state.fresh ? '; nobody has finished the quiz since.' : '; there are newer sittings.'}
          </p>
          {!isUnderWay(work) && (
            <WorkOut countyId={county.id} quizKey={design.id} text="Work them out again" />
          )}
        </div>
      )}
    </QuizPage>
  )
}

const WorkOut = ({ countyId, quizKey, text }: { countyId: string; quizKey: string; text: string }) => (
  <ActionForm action={refreshStatisticsAction}>
    <input type="hidden" name="countyId" value={countyId} />
    <input type="hidden" name="quizKey" value={quizKey} />
    <button type="submit">{text}</button>
  </ActionForm>
)

function Report({
  report,
  base,
}: {
  report: NonNullable<Extract<StatisticsState, { status: 'ready' }>['report']>
  base: string
}) {
  const asked = askedQuestions(report.items.map((item) => item.id))
  const advice = new Map(
    report.items.map((item) => [item.id, itemAdvice(item, asked.get(item.id)!.options)] as const),
  )
  const look = report.items.filter((item) => advice.get(item.id)!.some((a) => a.weight === 'look'))
  const flagged = new Set(look.map((item) => item.id))
  return (
    <>
      <Figures
        items={[
          { name: 'people', value: report.people },
          { name: 'passed the first time', value: percent(report.passRate) },
          { name: 'mean score', value: percent(report.meanFraction) },
          { name: 'reliability', value: report.reliability?.alpha.toFixed(2) ?? '—' },
          { name: 'same verdict twice', value: percent(report.consistency?.agreement ?? null) },
        ]}
      />
      {quizWords(report).map((text) => (
        <p key={text}>{text}</p>
      ))}
      <section aria-labelledby="look">
        <h2 id="look">To look at first</h2>
        {look.length === 0 ? (
          <p>No question needs attention.</p>
        ) : (
          <ul className="look-first">
            {look.map((item) => (
              <li key={item.id}>
                <a href={`${base}/questions/${item.id}`}>{asked.get(item.id)!.text}</a>
                <br />
                {advice
                  .get(item.id)!
                  .filter((a) => a.weight === 'look')
                  .map((a) => a.text)
                  .join(' ')}
              </li>
            ))}
          </ul>
        )}
      </section>
      <div className="two-up">
        <section aria-labelledby="scores">
          <h2 id="scores">Scores</h2>
          <ScoreHistogram histogram={report.histogram} cutFraction={report.cutFraction ?? 0.7} />
          <p className="small quiet">
            Each person’s first sitting. Filled bars reach the pass mark of {percent(report.cutFraction)}.
            Some of these people fail all the same, by a critical mistake or a protected subject.
          </p>
        </section>
        <section aria-labelledby="map">
          <h2 id="map">People and questions on one scale</h2>
          {report.rasch ? (
            <>
              <ItemMap items={report.items} abilities={report.rasch.abilities} flagged={flagged} />
              <p className="small quiet">
                At the height of a question half of the people know it. Triangles are questions to look at
                first. Questions far below the people tell nobody apart; keep them only if they are about
                safety or secrecy.
              </p>
            </>
          ) : (
            <p>From about a hundred people on, the map shows where each question stands.</p>
          )}
        </section>
      </div>
      <QuestionTable report={report} asked={asked} advice={advice} base={base} />
      <Methods report={report} />
    </>
  )
}
