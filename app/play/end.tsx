'use client'

import { score } from '@/lib/scenarios/core/replay'
import { whyKey } from '@/lib/scenarios/core/texts'
import type { Mark } from '@/lib/scenarios/core/transition'
import type { Competency } from '@/lib/scenarios/schema'
import type { PlayStrings } from './words/en'

interface Props {
  marks: readonly Mark[]
  text(key: string): string
  strings: PlayStrings
}

/** What went well and what to practise again, by topic, with a small picture. */
export function PracticeResult({ marks, text, strings }: Props) {
  const { byCompetency } = score(marks)
  const topics = Object.entries(byCompetency) as [
    Competency,
    NonNullable<(typeof byCompetency)[Competency]>,
  ][]
  const well = topics.filter(([, t]) => t.scoreFraction >= 0.75 && !t.critical)
  const again = marks.filter((m) => m.judgement === 'mistake' || m.judgement === 'critical')
  const again1 = again.filter((m, i) => again.findIndex((o) => o.step === m.step && o.act === m.act) === i)
  return (
    <>
      <h3>{strings.endByTopic}</h3>
      <ul className="play-bars">
        {topics.map(([competency, topic]) => {
          const name = strings.competency[competency]
          const points = topic.points.toFixed(1).replace(/\.0$/, '')
          return (
            <li key={competency}>
              <span>{strings.endBar(name, points, topic.steps)}</span>
              <svg aria-hidden="true" viewBox="0 0 200 14" preserveAspectRatio="none" className="play-bar">
                <rect width="200" height="14" rx="3" className="play-bar-back" />
                <rect
                  width={Math.max(2, 200 * topic.scoreFraction)}
                  height="14"
                  rx="3"
                  className={topic.critical ? 'play-bar-bad' : 'play-bar-good'}
                />
              </svg>
            </li>
          )
        })}
      </ul>
      {well.length > 0 ? (
        <>
          <h3>{strings.endWell}</h3>
          <ul className="play-list">
            {well.map(([competency]) => (
              <li key={competency}>{strings.competency[competency]}</li>
            ))}
          </ul>
        </>
      ) : null}
      <h3>{strings.endAgain}</h3>
      {again1.length === 0 ? (
        <p>{strings.endNothingAgain}</p>
      ) : (
        <ul className="play-list">
          {again1.map((mark) => (
            <li key={`${mark.step}.${mark.act}`}>
              <strong>{strings.competency[mark.competency]}: </strong>
              {text(whyKey(mark))}
            </li>
          ))}
        </ul>
      )}
    </>
  )
}
