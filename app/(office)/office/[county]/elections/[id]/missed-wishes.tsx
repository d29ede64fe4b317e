import { Notice } from '@/app/ui/notice'
import type { MissedPair } from '@/lib/roster/facts-pairs'
import type { CrewWishes } from '@/lib/roster/facts-wishes'
import type { ElectionHead } from '@/lib/roster/queries'
import { wishWords } from '@/lib/roster/wish-words'
import { count, dateText } from '../../../../parts/words'

const MOST = 20

/** Crews that miss what the county wishes of its rosters, and pairs of people who sit otherwise than noted, folded: only a
 *  required balance asks something of whoever publishes. */
export function MissedWishes({
  head,
  crews,
  pairs,
  base,
}: {
  head: ElectionHead
  crews: readonly CrewWishes[]
  pairs: readonly MissedPair[]
  base: string
}) {
  if (crews.length === 0 && pairs.length === 0) return null
  const more = Math.max(0, crews.length - MOST) + Math.max(0, pairs.length - MOST)
  const people = new Set(pairs.map((pair) => pair.id)).size
  const onOf = (servesOn: string) => servesOn !== head.heldOn && `, ${dateText(servesOn, 'short')}`
  return (
    <Notice kind="info">
      <details>
        <summary>
          {[
            ...(crews.length > 0
              ? [`${count(crews.length, 'crew misses', 'crews miss')} a wish of your county for its rosters`]
              : []),
            ...(pairs.length > 0
              ? [`${count(people, 'pair of people sits', 'pairs of people sit')} otherwise than noted`]
              : []),
          ].join('; ')}
        </summary>
        <ul>
          {crews.slice(0, MOST).map((crew) => (
            <li key={`${crew.placeId} ${crew.servesOn}`}>
              <a href={`${base}?place=${crew.placeId}#crews`}>
                {crew.placeCode} {crew.placeName}
              </a>
              {onOf(crew.servesOn)}: {crew.missed.map(wishWords).join('; ')}.
            </li>
          ))}
          {pairs.slice(0, MOST).map((pair) => (
            <PairLine
              key={`${pair.id} ${pair.servesOn}`}
              pair={pair}
              on={onOf(pair.servesOn)}
              base={base}
              county={head.countyId}
            />
          ))}
        </ul>
        {more > 0 && <p>and {more} more.</p>}
        <p>
          {crews.length > 0 && (
            <>
              The wishes stand under{' '}
              <a href={`/office/${head.countyId}/service#wishes`}>What a roster should keep to</a>.{' '}
            </>
          )}
          {pairs.length > 0 && 'A pair is noted, and taken back, on the page of either person.'}
        </p>
      </details>
    </Notice>
  )
}

function PairLine({
  pair,
  on,
  base,
  county,
}: {
  pair: MissedPair
  on: string | false
  base: string
  county: string
}) {
  const [one, other] = pair.people.map((person) => (
    <a key={person.id} href={`/office/${county}/people/${person.id}`}>
      {person.name}
    </a>
  ))
  const [here, there] = pair.people.map(({ id, place }) => (
    <a key={id} href={`${base}?place=${place.id}#crews`}>
      {place.code} {place.name}
    </a>
  ))
  return (
    <li>
      {one} and {other}
      {on}:{' '}
      {pair.kind === 'apart' ? (
        <>to be kept apart, but both are in the crew of {here}.</>
      ) : (
        <>
          to serve together, but they are at {here} and at {there}.
        </>
      )}
    </li>
  )
}
