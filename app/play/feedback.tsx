'use client'

import type { Mark, PlayState } from '@/lib/scenarios/core/transition'
import { stepOf } from '@/lib/scenarios/core/transition'
import type { Judgement, Scenario } from '@/lib/scenarios/schema'
import type { PlayStrings } from './words/en'

interface Props {
  scenario: Scenario
  marks: readonly Mark[]
  /** The step's state when it was left: what was marked or how it was ordered. */
  state: PlayState
  text(key: string): string
  strings: PlayStrings
}

const SIGN: Record<Judgement, string> = {
  sound: 'M5 12l5 5 9-10',
  workable: 'M5 12h14',
  mistake: 'M6 6l12 12M18 6L6 18',
  critical: 'M12 4v10M12 19v1',
}

/** A judgement in word, sign and colour; never in colour alone. */
export function Verdict({ judgement, strings }: { judgement: Judgement; strings: PlayStrings }) {
  return (
    <p className={`play-verdict play-verdict-${judgement}`}>
      <svg aria-hidden="true" viewBox="0 0 24 24" width="22" height="22">
        <path
          d={SIGN[judgement]}
          fill="none"
          stroke="currentColor"
          strokeWidth="3.2"
          strokeLinecap="round"
          strokeLinejoin="round"
        />
      </svg>
      {strings.judgement[judgement]}
    </p>
  )
}

/** What was judged and why, with its source. */
export function Explanations({ scenario, marks, state, text, strings }: Props) {
  return (
    <>
      {marks.map((mark) => (
        <section key={`${mark.step}.${mark.act}`} className="play-why">
          <Verdict judgement={mark.judgement} strings={strings} />
          {mark.act === 'spot' ? (
            <SpotWhy {...{ scenario, marks, state, text, strings }} step={mark.step} />
          ) : null}
          {mark.act === 'order' ? (
            <OrderWhy {...{ scenario, marks, state, text, strings }} step={mark.step} />
          ) : null}
          {mark.act === 'spot' || mark.act === 'order' ? null : <p>{text(`${mark.step}.${mark.act}.why`)}</p>}
          <SourceLine scenario={scenario} source={mark.source} strings={strings} />
        </section>
      ))}
    </>
  )
}

function SpotWhy({ scenario, state, text, strings, step: id }: Props & { step: string }) {
  const step = stepOf(scenario, id)
  if (step.kind !== 'spot') return null
  return (
    <>
      <p>{text(`${id}.why`)}</p>
      <ul className="play-list">
        {step.things
          .filter((t) => t.wrong || state.marked.includes(t.id))
          .map((thing) => (
            <li key={thing.id}>
              <strong>
                {!thing.wrong
                  ? strings.falseAlarm
                  : state.marked.includes(thing.id)
                    ? strings.found
                    : strings.missed}
                {': '}
              </strong>
              {text(`${id}.${thing.id}`)}
              {thing.wrong ? <> · {text(`${id}.${thing.id}.why`)}</> : null}
            </li>
          ))}
      </ul>
    </>
  )
}

function OrderWhy({ scenario, text, strings, step: id }: Props & { step: string }) {
  const step = stepOf(scenario, id)
  if (step.kind !== 'order') return null
  return (
    <>
      <p>{text(`${id}.why`)}</p>
      <p>{strings.rightOrder}</p>
      <ol className="play-list">
        {step.items.map((item) => (
          <li key={item.id}>{text(`${id}.${item.id}`)}</li>
        ))}
      </ol>
    </>
  )
}

function SourceLine({
  scenario,
  source,
  strings,
}: {
  scenario: Scenario
  source: string | null
  strings: PlayStrings
}) {
  if (!source) return null
  const entry = scenario.sources[source]
  const words =
    entry?.cite ?? (source === 'county-procedure' ? strings.countyProcedure : strings.commonPractice)
  return (
    <p className="play-soft play-source">
      {strings.source} {entry?.url ? <a href={entry.url}>{words}</a> : words}
      {entry?.fromMemory ? ` (${strings.fromMemory})` : ''}
    </p>
  )
}
