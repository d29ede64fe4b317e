import type { ReactNode } from 'react'
import { ActionForm } from '@/app/ui/action-form'
import type { SendingView } from '@/lib/offers/queries'
import { count } from '../../../../../parts/words'
import { HowItEnded, isUnderWay, PaperFiles, UnderWay } from '../papers/order'
import { askLettersAction, stopLettersAction } from './actions'

/** The letters of a sending: the button that has them made, their progress, their files. */
export const Letters = ({ sending, base, ids }: { sending: SendingView; base: string; ids: ReactNode }) => {
  const { newest, done } = sending.orders
  const letters = count(sending.letters, 'letter')
  const form = (action: typeof askLettersAction, button: ReactNode) => (
    <ActionForm action={action}>
      {ids}
      <input type="hidden" name="sendingId" value={sending.id} />
      {button}
    </ActionForm>
  )
  return (
    <div className="stack">
      <HowItEnded newest={newest} stopped="Making the letters was stopped before they were done." />
      {isUnderWay(newest) ? (
        <>
          <UnderWay
            newest={newest}
            address={`${base}/offers/letters/progress?sending=${sending.id}`}
            label="Progress of the letters"
          />
          {form(
            stopLettersAction,
            <button type="submit" data-kind="bad">
              Stop making the letters
            </button>,
          )}
        </>
      ) : (
        form(
          askLettersAction,
          <button type="submit">
            {done ? `Make the ${letters} again` : `Make the ${letters} to print`}
          </button>,
        )
      )}
      {done && done.files.length > 0 && (
        <PaperFiles
          done={done}
          address={`${base}/offers/letters`}
          outdated="People have answered, or got more time, since these letters were made. Make them again before you print."
        />
      )}
      {done && done.files.length === 0 && (
        <p>There are no letters to print: everybody has answered by now, or has an e-mail.</p>
      )}
    </div>
  )
}
