import { Empty, Figures, TableBox, Tag } from '@/app/ui/notice'
import { type BankQuestion, type DesignPage, getDesignPage } from '@/lib/assessment/queries-design'
import type { QuizDesign } from '@/lib/assessment/schema'
import { requireActor } from '@/lib/auth/session'
import { orNotFound } from '@/lib/web/or-not-found'
import { QuizPage } from '../quiz-page'

export const metadata = { title: 'Design and questions' }

const percent = (share: number) => `${Math.round(share * 100)} %`
const words = (key: string) => key.replaceAll('-', ' ')
const many = (n: number, one: string, more: string) => `${n} ${n === 1 ? one : more}`

export default async function QuizDesignPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; quiz: string }>
  searchParams: Promise<{ subject?: string; stage?: string }>
}) {
  const [{ county: countyId, quiz }, { subject, stage }] = await Promise.all([params, searchParams])
  const actor = await requireActor(`/training/${countyId}/quizzes/${quiz}/design`)
  const page = await orNotFound(
    getDesignPage(actor, countyId, quiz, { competency: subject, lifecycle: stage }),
  )
  const { county, design, stages, questions } = page
  return (
    <QuizPage county={county} quiz={{ id: design.id, name: design.names.en }} here="design">
      <Rules design={design} />
      <Cells page={page} />
      <h2 id="questions">Questions on these subjects</h2>
      <p>
        Questions come with the product’s content, each in English and Spanish. A drafted question is never
        shown; one on trial is shown and not counted; a live one is drawn and counts; a retired one stays in
        the record alone. A changed question gets a new version, so that figures and results stay those of the
        words that people read.
      </p>
      <Figures items={Object.entries(stages).map(([name, value]) => ({ name, value }))} />
      <form method="get" action="#questions" className="row">
        <div className="field">
          <label htmlFor="subject">Subject</label>
          <select id="subject" name="subject" defaultValue={page.subject}>
            <option value="">all</option>
            {[...new Set(page.cells.map((cell) => cell.competency))].map((key) => (
              <option key={key} value={key}>
                {words(key)}
              </option>
            ))}
          </select>
        </div>
        <div className="field">
          <label htmlFor="stage">Stage</label>
          <select id="stage" name="stage" defaultValue={stage ?? ''}>
            <option value="">all</option>
            {Object.keys(stages).map((key) => (
              <option key={key} value={key}>
                {key}
              </option>
            ))}
          </select>
        </div>
        <button type="submit">Show</button>
      </form>
      <p role="status">{many(questions.length, 'question', 'questions')}</p>
      {questions.length === 0 ? (
        <Empty>
          <p>No question is in this stage on this subject.</p>
        </Empty>
      ) : (
        questions.map((question) => <BankEntry key={question.id} question={question} />)
      )}
    </QuizPage>
  )
}

const Rules = ({ design: { minutes, passing, retake, shown, blueprint } }: { design: QuizDesign }) => (
  <ul>
    <li>
      {many(minutes, 'minute', 'minutes')}; a person’s own factor, kept with their record, makes it longer.
    </li>
    <li>
      Passed from {percent(passing.cutFraction)} of the points on
      {passing.floors.map((f) => `, with at least ${percent(f.fraction)} in ${words(f.competency)}`)}
      {passing.criticalMistakesAllowed === 0
        ? ', and without any mistake that matters too much'
        : `, and at most ${many(passing.criticalMistakesAllowed, 'mistake', 'mistakes')} that matter much`}
      .
    </li>
    <li>
      {retake.maxAttempts === null
        ? 'Any number of tries'
        : `At most ${many(retake.maxAttempts, 'failed try', 'failed tries')}`}
      {retake.waitDays > 0 &&
        `, ${many(retake.waitDays, 'day', 'days')} after the one before at the earliest`}
      ; a form has at most {percent(retake.overlapAtMost)} of its questions in common with an earlier one of
      the same person.
    </li>
    {blueprint.mustInclude.map(({ topic, count }) => (
      <li key={topic}>
        Always {many(count, 'question', 'questions')} about {words(topic)}.
      </li>
    ))}
    {blueprint.trialItems > 0 && (
      <li>Up to {many(blueprint.trialItems, 'question', 'questions')} on trial, which don’t count.</li>
    )}
    <li>
      Afterwards the person sees {shown.score ? 'the score and ' : ''}
      {shown.explanations === 'none'
        ? 'no explanations'
        : shown.explanations === 'all'
          ? 'the explanation of each question'
          : 'the explanation of each miss'}
      .
    </li>
  </ul>
)

const Cells = ({ page: { cells, stories } }: { page: DesignPage }) => (
  <TableBox label="What a form is made of">
    <table>
      <thead>
        <tr>
          <th scope="col">Subject</th>
          <th scope="col">Difficulty</th>
          <th scope="col" className="number">
            On a form
          </th>
          <th scope="col" className="number">
            To draw from
          </th>
        </tr>
      </thead>
      <tbody>
        {cells.map((cell) => (
          <tr key={`${cell.competency} ${cell.band}`}>
            <th scope="row">{words(cell.competency)}</th>
            <td>{cell.band ?? 'any'}</td>
            <td className="number">{cell.count}</td>
            <td className="number">
              {cell.live < cell.count && <Tag kind="bad">! too few</Tag>} {cell.live}
            </td>
          </tr>
        ))}
        {stories.map((story) => (
          <tr key={story.title}>
            <th scope="row">{words(story.competency)}</th>
            <td colSpan={2}>
              the story “{story.title}”, {many(story.weight, 'point', 'points')}
            </td>
            <td className="number">1</td>
          </tr>
        ))}
      </tbody>
    </table>
  </TableBox>
)

const BankEntry = ({ question: q }: { question: BankQuestion }) => (
  <details className="panel">
    <summary>
      {q.texts.en.stem}{' '}
      <span className="quiet">
        {words(q.competency)} · {q.band} · {q.lifecycle}
      </span>{' '}
      {q.faulty && <Tag kind="warn">! found faulty here, not drawn</Tag>}
    </summary>
    <p className="small quiet">
      {q.id}, version {q.version}, {words(q.kind)}; source: {words(q.source)}; on {q.drawn} of the last
      thousand forms.
    </p>
    <div className="two-up">
      {(['en', 'es'] as const).map((locale) => (
        <div key={locale} lang={locale}>
          <p>
            <strong>{q.texts[locale].stem}</strong>
          </p>
          {Object.keys(q.texts[locale].options).length > 0 && (
            <ul>
              {Object.entries(q.texts[locale].options).map(([id, text]) => (
                <li key={id}>{text}</li>
              ))}
            </ul>
          )}
          <p>{q.texts[locale].explanation}</p>
        </div>
      ))}
    </div>
    <p>Right: {q.right.join('; ')}.</p>
  </details>
)
