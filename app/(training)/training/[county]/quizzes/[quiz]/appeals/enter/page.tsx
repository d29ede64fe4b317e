import { dateText } from '@/app/(office)/parts/words'
import { ActionForm, Field, FieldError, Tick } from '@/app/ui/action-form'
import { Notice } from '@/app/ui/notice'
import { type AppealForPage, getAppealForPage } from '@/lib/assessment/queries-appeal-for'
import { requireActor } from '@/lib/auth/session'
import { systemClock } from '@/lib/kernel/clock'
import { civilDateAt } from '@/lib/kernel/dates'
import { orNotFound } from '@/lib/web/or-not-found'
import { QuizPage } from '../../quiz-page'
import { enterAppealForAction } from '../actions'

export const metadata = { title: 'Enter an appeal' }

export default async function EnterAppealPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; quiz: string }>
  searchParams: Promise<{ number?: string; sitting?: string }>
}) {
  const [{ county: countyId, quiz }, { number, sitting }] = await Promise.all([params, searchParams])
  const actor = await requireActor(`/training/${countyId}/quizzes/${quiz}/appeals/enter`)
  const page = await orNotFound(
    getAppealForPage(actor, countyId, quiz, { countyRef: number, attemptId: sitting }),
  )
  const { county, design, person, sittings, chosen } = page
  return (
    <QuizPage
      county={county}
      quiz={{ id: design.id, name: design.names.en }}
      here="appeals"
      title="Enter an appeal"
    >
      <p>
        For somebody who told you that a question of their quiz is wrong. It is decided on the same page as
        the others.
      </p>
      <form method="get">
        <Field
          name="number"
          label="The person’s county number"
          hint="It stands on their sheet, and in the list of check-offs."
          autoComplete="off"
          defaultValue={person?.countyRef ?? number}
          required
        />
        <button type="submit" data-kind={person ? undefined : 'main'}>
          Show their quizzes
        </button>
      </form>
      {number && !person && (
        <Notice kind="warn">
          <p>Nobody else here has this county number. Look it up in the list of check-offs.</p>
        </Notice>
      )}
      {person && sittings.length === 0 && (
        <Notice>
          <p>{person.name} has no marked sitting of this quiz yet.</p>
        </Notice>
      )}
      {person && sittings.length > 1 && <Sittings page={page} />}
      {person && chosen && (
        <section className="panel" aria-labelledby="appeal">
          <h2 id="appeal">
            Appeal of {person.name}, quiz of {dateText(chosen.startedOn)}
          </h2>
          <ActionForm action={enterAppealForAction}>
            <input type="hidden" name="countyId" value={county.id} />
            <input type="hidden" name="quizKey" value={design.id} />
            <input type="hidden" name="attemptId" value={chosen.attemptId} />
            <fieldset>
              <legend>Which question?</legend>
              {chosen.questions.map((question) => (
                <label className="choice" key={question.id}>
                  <Tick
                    type="radio"
                    name="questionId"
                    value={question.id}
                    disabled={question.appealed}
                    required
                  />
                  <span>
                    {question.n}. {question.stem}{' '}
                    <span className="quiet">
                      Answered: {question.given.join('; ') || 'nothing'}.
                      {question.appealed && ' An appeal was entered.'}
                    </span>
                  </span>
                </label>
              ))}
              <FieldError name="questionId" />
            </fieldset>
            <Field
              name="askedOn"
              label="Day on which they asked"
              type="date"
              min={chosen.startedOn}
              max={civilDateAt(systemClock.now(), county.timeZone)}
              defaultValue={civilDateAt(systemClock.now(), county.timeZone)}
              required
            />
            <Field
              name="text"
              label="What they say is wrong"
              hint="In their own words, as near as you can."
              autoComplete="off"
              maxLength={1000}
              required
            />
            <button type="submit" data-kind="main">
              Enter the appeal
            </button>
          </ActionForm>
        </section>
      )}
    </QuizPage>
  )
}

const Sittings = ({ page: { person, sittings, chosen } }: { page: AppealForPage }) => (
  <section aria-labelledby="sittings">
    <h2 id="sittings">Which sitting?</h2>
    <ul>
      {sittings.map((s) => (
        <li key={s.attemptId}>
          <a
            href={`?number=${encodeURIComponent(person!.countyRef)}&sitting=${s.attemptId}`}
            aria-current={s.attemptId === chosen?.attemptId ? 'true' : undefined}
          >
            {dateText(s.startedOn)}, {Math.floor(s.scoreFraction * 100 + 1e-9)} %,{' '}
            {s.passed ? 'passed' : 'not passed'}
            {s.onPaper && `, on paper (form ${s.mark})`}
          </a>
          {s.attemptId === chosen?.attemptId && ' – shown below'}
        </li>
      ))}
    </ul>
  </section>
)
