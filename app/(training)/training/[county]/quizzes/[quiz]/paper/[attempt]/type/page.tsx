import { ActionForm, Field } from '@/app/ui/action-form'
import { Notice } from '@/app/ui/notice'
import { getPaperFormOrThrow, type PaperForm } from '@/lib/assessment/queries-paper'
import { requireActor } from '@/lib/auth/session'
import { systemClock } from '@/lib/kernel/clock'
import { civilDateAt } from '@/lib/kernel/dates'
import { orNotFound } from '@/lib/web/or-not-found'
import { QuizPage } from '../../../quiz-page'
import { typePaperAction } from '../../actions'

export const metadata = { title: 'Type the answers' }

const hintOf = ({ kind, options, unit }: PaperForm['questions'][number]): string => {
  const last = options.at(-1)?.letter ?? ''
  switch (kind) {
    case 'single':
      return `one letter, A to ${last}`
    case 'number':
      return `a number (${unit})`
    case 'order':
      return `${options.length} letters in the person’s order, such as CAB…`
    default:
      return `letters A to ${last}, such as AC`
  }
}

/** Where two people type each sheet: what this typing is for. */
const typingWords = (form: { typists: number; typedByMe: boolean }): string =>
  form.typists === 0
    ? 'Two people type each sheet, without looking at each other’s typing. Yours is the first.'
    : form.typists === 1 && form.typedByMe
      ? 'You have typed this sheet. Somebody else types it next: it is marked when both agree. Type it again only to correct yourself.'
      : 'Somebody else has typed this sheet. It is marked when two people’s typings agree.'

export default async function TypePage({
  params,
}: {
  params: Promise<{ county: string; quiz: string; attempt: string }>
}) {
  const { county: countyId, quiz, attempt } = await params
  const actor = await requireActor(`/training/${countyId}/quizzes/${quiz}/paper/${attempt}/type`)
  const form = await orNotFound(getPaperFormOrThrow(actor, countyId, quiz, attempt))
  const today = civilDateAt(systemClock.now(), form.county.timeZone)
  return (
    <QuizPage
      county={form.county}
      quiz={{ id: quiz, name: form.design.names.en }}
      here="paper"
      title={`Answers of ${form.name}`}
    >
      <p>
        {form.countyRef}, form {form.mark}.{' '}
        <strong>Compare the form’s mark with the sheet in your hand.</strong>{' '}
        <a href={`/training/${countyId}/quizzes/${quiz}/paper`}>All forms on paper</a>
      </p>
      {form.withdrawn ? (
        <Notice kind="warn">
          <p>This form was withdrawn: {form.withdrawn}. Nothing can be typed.</p>
        </Notice>
      ) : form.finished ? (
        <Notice kind="good">
          <p>This form is marked. Nothing more can be typed.</p>
        </Notice>
      ) : (
        <>
          {form.doubleEntry && (
            <Notice>
              <p>{typingWords(form)}</p>
            </Notice>
          )}
          <ActionForm action={typePaperAction}>
            <input type="hidden" name="countyId" value={countyId} />
            <input type="hidden" name="quizKey" value={quiz} />
            <input type="hidden" name="attemptId" value={attempt} />
            <Field
              name="satOn"
              label="Day on the sheet"
              type="date"
              min={form.drawnOn}
              max={today}
              defaultValue={today}
              required
            />
            <div className="type-grid">
              {form.questions.map((question, i) => (
                <Field
                  key={question.id}
                  name={`answer-${i + 1}`}
                  label={`Question ${i + 1}`}
                  hint={hintOf(question)}
                  autoComplete="off"
                  autoCapitalize="characters"
                  spellCheck={false}
                />
              ))}
            </div>
            <p className="quiet">Leave a field empty where the sheet is empty.</p>
            <button type="submit" data-kind="main">
              Keep these answers
            </button>
          </ActionForm>
        </>
      )}
    </QuizPage>
  )
}
