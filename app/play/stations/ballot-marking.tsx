'use client'

import type { BallotMarkingState } from '@/lib/scenarios/core/stations/ballot-marking'
import { CardDrawing } from './card'
import { Action, Group, type StationProps, type StationView } from './parts'

type Props = StationProps<'ballot-marking', BallotMarkingState>

const label = (props: Props, at: number) => props.text(`station.${props.setup.contests[at]!.label}`)

function lines(props: Props): string[] {
  const { setup, state, strings } = props
  const { card, marking } = strings
  const out = [card.where[state.card]!]
  if (state.card === 'hand' || state.card === 'returned') {
    if (state.reason !== 'none') out.push(card.reason[state.reason]!)
    else if (state.card === 'hand') out.push(marking.idle)
    out.push(card.face[state.way.face], card.lead[state.way.lead])
  }
  if (state.card === 'accepted' && state.screen === 'contest') {
    const contest = setup.contests[state.contest]!
    out.push(marking.contestOf(label(props, state.contest), state.contest + 1, setup.contests.length))
    out.push(marking.chosen(state.chosen[state.contest]!.length, contest.choose))
    for (const id of state.chosen[state.contest]!)
      out.push(marking.picked(contest.choices.find((c) => c.id === id)!.name))
    if (state.notice === 'undervote') out.push(marking.undervote)
    if (state.notice === 'full') out.push(marking.full)
  }
  if (state.card === 'accepted' && state.screen === 'review') out.push(marking.reviewTitle)
  if (state.screen === 'printed') out.push(marking.printed)
  if (props.allowed('text-size')) out.push(`${marking.textSize}: ${marking.sizeAt(state.textSize + 1)}`)
  if (props.allowed('contrast')) out.push(`${marking.contrast}: ${marking.contrasts[state.contrast]}`)
  return out
}

const CARD_Y: Record<BallotMarkingState['card'], number> = {
  hand: 172,
  returned: 140,
  accepted: 70,
  out: 140,
  window: 70,
  cast: 70,
}

function Drawing({ profile, state, strings }: Props) {
  const inside = state.card === 'accepted' || state.card === 'cast' || state.card === 'window'
  const light = state.contrast === 'white-on-black' ? 'play-screen play-screen-dark' : 'play-screen'
  return (
    <svg className="play-drawing" viewBox="0 0 240 220" aria-hidden="true">
      <path d="M8 122 h224 v8 h-224 z" className="play-fill" />
      {inside ? null : (
        <CardDrawing
          way={state.way}
          profile={profile}
          printed={state.condition === 'printed'}
          x={120}
          y={CARD_Y[state.card]}
        />
      )}
      <rect x="52" y="8" width="136" height="100" rx="8" className="play-body" />
      <rect x="62" y="18" width="116" height="66" rx="3" className={light} />
      {state.card === 'window' ? (
        <g>
          <rect x="148" y="24" width="24" height="54" className="play-card" />
          <path d="M152 36h14M152 46h16M152 56h10M152 66h12" className="play-line play-line-strong" />
        </g>
      ) : null}
      <g className={state.contrast === 'white-on-black' ? 'play-screen-ink-dark' : 'play-screen-ink'}>
        {state.screen === 'contest'
          ? [0, 1, 2].map((i) => (
              <path
                key={i}
                d={`M70 ${34 + i * 16} h${40 + state.textSize * 9}`}
                strokeWidth={2 + state.textSize * 1.4}
              />
            ))
          : null}
        {state.screen === 'review' || state.screen === 'printed' ? (
          <path d="M72 50 l12 12 22 -26" strokeWidth="5" fill="none" />
        ) : null}
        {state.screen === 'idle' && state.reason === 'none' ? (
          <path d="M120 34 v30 m-12 -12 l12 12 12 -12" strokeWidth="4" fill="none" />
        ) : null}
        {state.reason !== 'none' && state.card === 'returned' ? (
          <path d="M108 36 a16 16 0 1 1 -2 26 m2 -26 v-10 m0 10 h10" strokeWidth="4" fill="none" />
        ) : null}
      </g>
      <rect x="84" y="92" width="72" height="7" rx="3" className="play-slot" />
      <text x="120" y="118" textAnchor="middle" className="play-drawing-text">
        {state.card === 'hand' ? `▲ ${strings.card.cue[profile.card.cue]}` : ''}
      </text>
    </svg>
  )
}

function Controls(props: Props) {
  const { profile, state, strings } = props
  const { card, marking } = strings
  const inHand = state.card === 'hand'
  return (
    <>
      {state.card === 'accepted' || state.card === 'window' || state.card === 'cast' ? null : (
        <Group>
          <Action event={{ type: 'turn' }} label={card.turn} can={inHand} props={props} />
          <Action event={{ type: 'flip' }} label={card.flip} can={inHand} props={props} />
          <Action event={{ type: 'insert' }} label={card.insert} can={inHand} main props={props} />
          <Action
            event={{ type: 'take' }}
            label={card.take}
            can={state.card === 'returned' || state.card === 'out'}
            props={props}
          />
        </Group>
      )}
      {state.card === 'window' ? (
        <Group>
          <Action event={{ type: 'cast' }} label={marking.cast} can main props={props} />
        </Group>
      ) : null}
      {state.card === 'accepted' ? <Screen {...props} /> : null}
      {props.allowed('text-size') ? (
        <Group label={marking.textSize}>
          {profile.display.textSizesMm.map((_, to) => (
            <Action
              key={to}
              event={{ type: 'text-size', to }}
              label={marking.sizeAt(to + 1)}
              can={to !== state.textSize}
              pressed={to === state.textSize}
              props={props}
            />
          ))}
        </Group>
      ) : null}
      {props.allowed('contrast') ? (
        <Group label={marking.contrast}>
          {profile.display.contrasts.map((to) => (
            <Action
              key={to}
              event={{ type: 'contrast', to }}
              label={marking.contrasts[to]!}
              can={to !== state.contrast}
              pressed={to === state.contrast}
              props={props}
            />
          ))}
        </Group>
      ) : null}
    </>
  )
}

function Screen(props: Props) {
  const { setup, profile, state, strings } = props
  const { marking } = strings
  const look = `play-bms play-bms-${state.contrast} play-bms-${state.textSize}`
  if (state.screen === 'review')
    return (
      <div className={look}>
        <p className="play-bms-title">{marking.reviewTitle}</p>
        <ul>
          {setup.contests.map((contest, at) => {
            const chosen = state.chosen[at]!
            const left = contest.choose - chosen.length
            return (
              <li key={contest.id}>
                <strong>{label(props, at)}</strong>
                <br />
                {chosen.map((id) => contest.choices.find((c) => c.id === id)!.name).join(', ') ||
                  marking.none}
                {left > 0 && profile.selection.undervoteNotice === 'review' ? (
                  <span className="play-bms-note"> · {marking.left(left)}</span>
                ) : null}
                <Action
                  event={{ type: 'open', contest: contest.id }}
                  label={marking.open(label(props, at))}
                  can
                  props={props}
                />
              </li>
            )
          })}
        </ul>
        <Action event={{ type: 'print' }} label={marking.print} can main props={props} />
      </div>
    )
  const contest = setup.contests[state.contest]
  if (!contest) return null
  const free = state.notice === 'none'
  return (
    <div className={look}>
      <p className="play-bms-title">{label(props, state.contest)}</p>
      {free ? null : (
        <div className="play-bms-notice">
          <p>{state.notice === 'undervote' ? marking.undervote : marking.full}</p>
          <div className="play-actions">
            <Action event={{ type: 'dismiss' }} label={marking.dismiss} can props={props} />
            {state.notice === 'undervote' ? (
              <Action event={{ type: 'go-on' }} label={marking.goOn} can props={props} />
            ) : null}
          </div>
        </div>
      )}
      <div className="play-actions">
        {contest.choices.map((choice) => (
          <Action
            key={choice.id}
            event={{ type: 'choose', choice: choice.id }}
            label={choice.name}
            can={free}
            pressed={state.chosen[state.contest]!.includes(choice.id)}
            props={props}
          />
        ))}
      </div>
      <div className="play-actions">
        <Action
          event={{ type: 'previous' }}
          label={marking.previous}
          can={free && state.contest > 0}
          props={props}
        />
        <Action event={{ type: 'next' }} label={marking.next} can={free} main props={props} />
        <Action event={{ type: 'review' }} label={marking.review} can={free} props={props} />
      </div>
    </div>
  )
}

export const ballotMarkingView: StationView<'ballot-marking', BallotMarkingState> = {
  lines,
  Drawing,
  Controls,
}
