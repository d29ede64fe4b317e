'use client'

import type { ExitState } from '@/lib/scenarios/core/stations/exit'
import { Action, Group, type StationProps, type StationView } from './parts'

type Props = StationProps<'exit', ExitState>

function lines({ setup, state, strings }: Props): string[] {
  const t = strings.exit
  const person = setup.people[state.person]
  const before = setup.people.slice(0, state.person).map((p) => `${p.name} ${t.went[state.went[p.id]!]}.`)
  return [
    ...before,
    ...(person ? [t.atPost(person.name), t.carries[person.carries]!] : [t.nobody]),
    ...(person && state.done.includes('greet') ? [t.greeted(person.name)] : []),
    ...(person && state.done.includes('took') ? [t.took] : []),
    ...(person && state.done.includes('ask') ? [t.answers[String(person.cast)]!] : []),
  ]
}

function Drawing({ setup, state }: Props) {
  const person = setup.people[state.person]
  return (
    <svg className="play-drawing" viewBox="0 0 240 150" aria-hidden="true">
      <path d="M6 138h228" className="play-line" />
      <path d="M168 138V30h52v108z" className="play-body" />
      <circle cx="210" cy="86" r="3" className="play-slot" />
      {person ? (
        <g>
          <circle cx="108" cy="52" r="14" className="play-body" />
          <path d="M82 126c2-64 50-64 52 0z" className="play-fill" />
          {person.carries === 'ballot' && !state.done.includes('took') ? (
            <rect x="126" y="82" width="22" height="32" className="play-card" />
          ) : null}
          {person.carries === 'sleeve' ? (
            <rect x="126" y="82" width="24" height="32" className="play-slot-soft" />
          ) : null}
          {person.carries === 'sticker' ? <circle cx="100" cy="92" r="6" className="play-mark" /> : null}
        </g>
      ) : null}
      {setup.people.slice(state.person + 1).map((p, i) => (
        <circle key={p.id} cx={54 - i * 16} cy="66" r="9" className="play-slot-soft" />
      ))}
    </svg>
  )
}

function Controls(props: Props) {
  const { setup, state, strings } = props
  const t = strings.exit
  const person = setup.people[state.person]
  const here = person !== undefined
  return (
    <Group>
      <Action
        event={{ type: 'greet' }}
        label={t.greet}
        can={here && !state.done.includes('greet')}
        props={props}
      />
      <Action event={{ type: 'ask' }} label={t.ask} can={here && !state.done.includes('ask')} props={props} />
      <Action event={{ type: 'send', to: 'scanner' }} label={t.send.scanner!} can={here} props={props} />
      <Action event={{ type: 'send', to: 'lead' }} label={t.send.lead!} can={here} props={props} />
      <Action event={{ type: 'send', to: 'out' }} label={t.send.out!} can={here} props={props} />
      <Action
        event={{ type: 'take-ballot' }}
        label={t.take}
        can={person?.carries === 'ballot' && !state.done.includes('took')}
        props={props}
      />
    </Group>
  )
}

export const exitView: StationView<'exit', ExitState> = { lines, Drawing, Controls }
