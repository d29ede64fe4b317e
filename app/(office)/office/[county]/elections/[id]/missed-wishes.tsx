import { Notice } from '@/app/ui/notice'
import type { CrewWishes, MissedWish } from '@/lib/roster/facts-wishes'
import type { ElectionHead } from '@/lib/roster/queries'
import { count, dateText } from '../../../../parts/words'

const MOST = 20
const LANGUAGES = new Intl.DisplayNames('en', { type: 'language' })

function words(wish: MissedWish): string {
  switch (wish.kind) {
    case 'balance':
      return `${count(wish.people, 'person', 'people')} too many of one party${wish.required ? ', though your county requires the balance' : ''}`
    case 'lead-and-deputy':
      return 'lead and deputy are of one party'
    case 'speakers':
      return `${count(wish.people, `${LANGUAGES.of(wish.language) ?? wish.language} speaker`)} missing`
    case 'experienced':
      return `${count(wish.people, 'person', 'people')} with experience missing`
  }
}

/** Crews that miss what the county wishes of its rosters, folded: only a required balance asks something of whoever publishes. */
export function MissedWishes({
  head,
  crews,
  base,
}: {
  head: ElectionHead
  crews: readonly CrewWishes[]
  base: string
}) {
  if (crews.length === 0) return null
  return (
    <Notice kind="info">
      <details>
        <summary>
          {count(crews.length, 'crew misses', 'crews miss')} a wish of your county for its rosters
        </summary>
        <ul>
          {crews.slice(0, MOST).map((crew) => (
            <li key={`${crew.placeId} ${crew.servesOn}`}>
              <a href={`${base}?place=${crew.placeId}#crews`}>
                {crew.placeCode} {crew.placeName}
              </a>
              {crew.servesOn !== head.heldOn && `, ${dateText(crew.servesOn, 'short')}`}:{' '}
              {crew.missed.map(words).join('; ')}.
            </li>
          ))}
        </ul>
        {crews.length > MOST && <p>and {crews.length - MOST} more.</p>}
        <p>
          The wishes stand under{' '}
          <a href={`/office/${head.countyId}/service#wishes`}>What a roster should keep to</a>.
        </p>
      </details>
    </Notice>
  )
}
