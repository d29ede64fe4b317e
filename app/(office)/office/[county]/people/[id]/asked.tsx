import { ActionForm, LongField } from '@/app/ui/action-form'
import type { AskedCorrection } from '@/lib/record/queries-corrections'
import { dateText } from '../../../../parts/words'
import { answerCorrectionAction } from './actions'

/** What this person says is wrong, until somebody has answered. */
export const Asked = ({ county, asked }: { county: string; asked: AskedCorrection[] }) =>
  asked.map((request) => (
    <section key={request.id} className="panel" aria-labelledby={`asked-${request.id}`}>
      <h2 id={`asked-${request.id}`}>Asks for a correction</h2>
      <blockquote>
        <p>{request.text}</p>
      </blockquote>
      <p className="quiet">Asked on {dateText(request.askedOn)}.</p>
      <p>
        1.{' '}
        <a className="button" href={`/office/${county}/people/${request.workerId}/correct`}>
          Correct these data
        </a>{' '}
        or, where the request is wrong, leave them. 2. Say below what you did: the person reads it.
      </p>
      <ActionForm action={answerCorrectionAction} id={`answer-${request.id}`}>
        <input type="hidden" name="countyId" value={county} />
        <input type="hidden" name="requestId" value={request.id} />
        <LongField name="answer" label="What was done" rows={2} maxLength={2000} />
        <button type="submit">Answer and close</button>
      </ActionForm>
    </section>
  ))
