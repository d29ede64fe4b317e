import { ActionForm, Field, FieldError, Tick } from '@/app/ui/action-form'
import { Notice } from '@/app/ui/notice'
import { SHEET_TEXTS, type SheetQuestion } from '@/lib/assessment/core/paper'
import { getPaperFormOrThrow } from '@/lib/assessment/queries-paper'
import { requireActor } from '@/lib/auth/session'
import { dateInWords } from '@/lib/kernel/date-words'
import { orNotFound } from '@/lib/web/or-not-found'
import { QuizPage } from '../../quiz-page'
import { withdrawPaperAction } from '../actions'

export const metadata = { title: 'Form for print' }

type Texts = (typeof SHEET_TEXTS)['en' | 'es']
const howTo = (kind: SheetQuestion['kind'], t: Texts): string =>
  kind === 'picture-areas' ? t.areas : t[kind]

export default async function PrintFormPage({
  params,
}: {
  params: Promise<{ county: string; quiz: string; attempt: string }>
}) {
  const { county: countyId, quiz, attempt } = await params
  const actor = await requireActor(`/training/${countyId}/quizzes/${quiz}/paper/${attempt}`)
  const form = await orNotFound(getPaperFormOrThrow(actor, countyId, quiz, attempt))
  const t = SHEET_TEXTS[form.locale]
  const base = `/training/${countyId}/quizzes/${quiz}/paper`
  return (
    <QuizPage
      county={form.county}
      quiz={{ id: quiz, name: form.design.names.en }}
      here="paper"
      title={`Form for ${form.name}`}
    >
      <div className="no-print">
        <p>
          Print this page: the questions first, the answer sheet on a page of its own. The key is on another
          page, for you alone.
        </p>
        <p className="row">
          <a className="button" href={`${base}/${attempt}/key`}>
            Key sheet
          </a>
          {!form.finished && !form.withdrawn && (
            <a className="button" href={`${base}/${attempt}/type`}>
              Type the answers
            </a>
          )}
          <a href={base}>All forms on paper</a>
        </p>
        {form.withdrawn && (
          <Notice kind="warn">
            <p>This form was withdrawn: {form.withdrawn}. It is never marked. Draw another one.</p>
          </Notice>
        )}
        {!form.finished && !form.withdrawn && form.typists === 0 && (
          <Withdraw countyId={countyId} quizKey={quiz} attemptId={attempt} />
        )}
      </div>
      <div lang={form.locale} className="paper-form">
        <h2>
          {form.title}: {t.questions}
        </h2>
        <p>
          {form.name}, {form.countyRef}. {t.form} {form.mark}, {dateInWords(form.drawnOn, form.locale)}.
        </p>
        <p>
          <strong>{t.howTo}</strong>
        </p>
        <ol>
          {form.questions.map((question) => (
            <li key={question.id} className="paper-question">
              <p>
                <strong>{question.stem}</strong>
                <br />
                <span className="quiet">
                  {howTo(question.kind, t)}
                  {question.unit && ` (${question.unit})`}
                </span>
              </p>
              {question.options.length > 0 && (
                <ul className="lettered">
                  {question.options.map((option) => (
                    <li key={option.id}>
                      <strong>{option.letter}</strong> {option.text}
                    </li>
                  ))}
                </ul>
              )}
            </li>
          ))}
        </ol>
        <section className="new-page" aria-labelledby="answer-sheet">
          <h2 id="answer-sheet">
            {form.title}: {t.answers}
          </h2>
          <p>
            {t.name}: {form.name}, {form.countyRef}. {t.form} {form.mark}.
          </p>
          <p>{t.date}: ______________________</p>
          <p>
            <strong>{t.letters}</strong>
          </p>
          <ol className="answer-boxes">
            {form.questions.map((question, i) => (
              <li key={question.id}>
                <span>{i + 1}</span>
                <span className="answer-box" data-wide={question.kind === 'single' ? undefined : 'yes'} />
                <span className="small">{question.unit ?? ''}</span>
              </li>
            ))}
          </ol>
        </section>
      </div>
    </QuizPage>
  )
}

const Withdraw = (form: { countyId: string; quizKey: string; attemptId: string }) => (
  <details>
    <summary>Withdraw this form</summary>
    <p>
      For a sheet that is spoiled, lost or not needed. The form is never marked and is no try of the person’s;
      its questions count as seen, and the next form has others where it can.
    </p>
    <ActionForm action={withdrawPaperAction}>
      {Object.entries(form).map(([name, value]) => (
        <input type="hidden" name={name} value={value} key={name} />
      ))}
      <fieldset>
        <legend>Why?</legend>
        <label className="choice">
          <Tick type="radio" name="why" value="spoiled" required />
          <span>The sheet is spoiled</span>
        </label>
        <label className="choice">
          <Tick type="radio" name="why" value="lost" />
          <span>The sheet is lost: others may have seen it</span>
        </label>
        <label className="choice">
          <Tick type="radio" name="why" value="not-needed" />
          <span>It isn’t needed any more</span>
        </label>
        <FieldError name="why" />
      </fieldset>
      <Field name="note" label="What happened?" hint="May stay empty." autoComplete="off" maxLength={300} />
      <button type="submit">Withdraw the form</button>
    </ActionForm>
  </details>
)
