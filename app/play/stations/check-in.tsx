'use client'

import { CHECK_IN_QUESTIONS, type CheckInState } from '@/lib/scenarios/core/stations/check-in'
import { Action, Group, type StationProps, type StationView } from './parts'

type Props = StationProps<'check-in', CheckInState>

const nameOf = ({ setup }: Props, id: string | null) => setup.lines.find((l) => l.id === id)?.name ?? ''

function lines(props: Props): string[] {
  const { setup, state, strings } = props
  const t = strings.checkIn
  const open = setup.lines.find((l) => l.id === state.line)
  return [
    ...state.asked.map((q) => `${t.asked}: ${t.ask[q]}`),
    ...(open ? [`${t.open} ${open.name}, ${open.address}, ${open.style}, ${t.status[open.status]}`] : []),
    ...(state.signed ? [`${t.signed} ${nameOf(props, state.signed)}`] : []),
    `${t.inHand} ${state.inHand ?? t.nothing}`,
    `${t.handed} ${state.handed ?? t.nothing}`,
    ...(state.lead ? [t.leadHere] : []),
  ]
}

function Drawing({ setup, state, profile }: Props) {
  const at = setup.lines.findIndex((l) => l.id === state.line)
  return (
    <svg className="play-drawing" viewBox="0 0 240 150" aria-hidden="true">
      <path d="M6 118h228v10H6z" className="play-fill" />
      <rect
        x="24"
        y="36"
        width="112"
        height="76"
        rx={profile.checkIn.book === 'tablet' ? 10 : 2}
        className="play-body"
      />
      {setup.lines.map((line, i) => (
        <g key={line.id}>
          <rect
            x="34"
            y={44 + i * 8}
            width="92"
            height="6"
            className={i === at ? 'play-mark' : 'play-slot-soft'}
          />
          {state.signed === line.id ? (
            <path d={`M112 ${47 + i * 8} l4 3 8 -7`} className="play-line play-line-strong" />
          ) : null}
        </g>
      ))}
      <g>
        {setup.styles.map((style, i) => (
          <rect key={style} x={152 + i * 14} y="86" width="11" height="26" className="play-card" />
        ))}
      </g>
      {state.inHand ? <rect x="150" y="46" width="20" height="30" className="play-card" /> : null}
      <circle cx="206" cy="24" r="11" className="play-body" />
      <path d="M186 60c2-26 38-26 40 0" className="play-body" />
      {state.handed ? <rect x="196" y="50" width="18" height="26" className="play-card" /> : null}
    </svg>
  )
}

function Controls(props: Props) {
  const { setup, profile, state, strings } = props
  const t = strings.checkIn
  return (
    <>
      {props.allowed('ask') ? (
        <Group>
          {CHECK_IN_QUESTIONS.map((question) => (
            <Action
              key={question}
              event={{ type: 'ask', question }}
              label={t.ask[question]!}
              can={!state.asked.includes(question)}
              props={props}
            />
          ))}
        </Group>
      ) : null}
      {props.allowed('open-line') ? (
        <Group label={t.book[profile.checkIn.book]!}>
          {setup.lines.map((line) => (
            <Action
              key={line.id}
              event={{ type: 'open-line', line: line.id }}
              label={`${line.name} · ${line.address}`}
              can={state.line !== line.id}
              pressed={state.line === line.id}
              props={props}
            />
          ))}
        </Group>
      ) : null}
      <Group>
        <Action event={{ type: 'close-line' }} label={t.closeLine} can={state.line !== null} props={props} />
        <Action
          event={{ type: 'sign' }}
          label={t.sign}
          can={state.line !== null && state.signed === null}
          props={props}
        />
      </Group>
      <Group>
        {setup.styles.map((style) => (
          <Action
            key={style}
            event={{ type: 'take-card', style }}
            label={t.take(style)}
            can={state.inHand === null}
            props={props}
          />
        ))}
        <Action event={{ type: 'put-back' }} label={t.putBack} can={state.inHand !== null} props={props} />
        <Action
          event={{ type: 'hand-over' }}
          label={t.handOver}
          can={state.inHand !== null && state.handed === null}
          main
          props={props}
        />
        <Action event={{ type: 'take-back' }} label={t.takeBack} can={state.handed !== null} props={props} />
        <Action event={{ type: 'call-lead' }} label={t.lead} can={!state.lead} props={props} />
      </Group>
    </>
  )
}

export const checkInView: StationView<'check-in', CheckInState> = { lines, Drawing, Controls }
