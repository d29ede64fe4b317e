import { Notice } from '@/app/ui/notice'
import type { EndingBefore } from '@/lib/elections/queries'
import type { ElectionHead } from '@/lib/roster/queries'
import { count, dateText } from '../../../../parts/words'

/** Where certificates end before the day and nobody is left who may sit: says so, and where the way out begins. A runoff a
 *  month after the election is the common case. */
export const RenewalNotice = ({
  head,
  ending,
  certified,
  hasList,
}: {
  head: ElectionHead
  ending: EndingBefore
  /** Certified on that day, all positions together. */
  certified: number
  /** A run has made the list of whom to train. */
  hasList: boolean
}) => {
  if (ending.people === 0 || ending.lastOn === null || certified > 0) return null
  const base = `/office/${head.countyId}/elections/${head.id}`
  return (
    <Notice kind="bad">
      <p>
        <b>Nobody is certified on {dateText(head.heldOn, 'long')}.</b>{' '}
        {count(ending.people, 'person is', 'people are')} certified before that day, but{' '}
        {ending.people === 1 ? 'that certificate ends' : 'those certificates end'} on{' '}
        {dateText(ending.lastOn)} at the latest. They have to renew first; until then “Fill the seats” leaves
        every seat empty.
      </p>
      <p>
        {hasList ? (
          <a href={`${base}/training`}>Whom to train next, and in what</a>
        ) : (
          'Fill the seats once all the same: the run makes the list of whom to train next, and in what.'
        )}
      </p>
    </Notice>
  )
}
