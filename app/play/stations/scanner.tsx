'use client'

import type { ScannerState } from '@/lib/scenarios/core/stations/scanner'
import { CardDrawing } from './card'
import { Action, Group, type StationProps, type StationView } from './parts'

type Props = StationProps<'scanner', ScannerState>

function lines({ setup, state, strings }: Props): string[] {
  const t = strings.scanner
  const waiting = state.ballot < setup.ballots.length
  return [
    ...(waiting ? [t.ballot(state.ballot + 1, setup.ballots.length), t.sheet[state.sheet]!] : [t.allDone]),
    ...(state.reason !== 'none' ? [t.reason[state.reason]!] : []),
    ...(waiting && state.sheet === 'hand'
      ? [strings.card.face[state.way.face], strings.card.lead[state.way.lead]]
      : []),
    state.power ? `${t.counter}: ${state.counter}` : t.dark,
    ...(state.auxiliary > 0 ? [t.inAuxiliary(state.auxiliary)] : []),
    ...(state.emptied ? [t.emptied] : []),
    ...(state.spoiled > 0 ? [t.spoiled(state.spoiled)] : []),
  ]
}

function Drawing({ setup, profile, state }: Props) {
  const waiting = state.ballot < setup.ballots.length
  return (
    <svg className="play-drawing" viewBox="0 0 240 220" aria-hidden="true">
      <rect x="64" y="8" width="112" height="66" rx="4" className="play-body" />
      <rect x="64" y="8" width="112" height="14" className="play-slot-soft" />
      <rect x="72" y="52" width="40" height="14" className="play-slot" />
      <rect x="56" y="74" width="128" height="22" rx="4" className="play-body" />
      <rect
        x="140"
        y="78"
        width="36"
        height="14"
        rx="2"
        className={state.power ? 'play-screen' : 'play-screen play-screen-dark'}
      />
      <text x="158" y="89" textAnchor="middle" className={state.power ? 'play-drawing-text' : 'play-hidden'}>
        {state.counter}
      </text>
      <rect x="72" y="82" width="58" height="6" rx="3" className="play-slot" />
      {waiting ? (
        <CardDrawing
          way={state.way}
          profile={profile}
          printed
          x={100}
          y={state.sheet === 'hand' ? 168 : state.sheet === 'returned' ? 138 : 122}
        />
      ) : null}
    </svg>
  )
}

function Controls(props: Props) {
  const { setup, state, strings } = props
  const t = strings.scanner
  const waiting = state.ballot < setup.ballots.length
  const inHand = waiting && state.sheet === 'hand'
  const returned = waiting && state.sheet === 'returned'
  const voterMayDecide = returned && ['overvote', 'undervote', 'blank'].includes(state.reason)
  return (
    <>
      <Group>
        <Action event={{ type: 'turn' }} label={strings.card.turn} can={inHand} props={props} />
        <Action event={{ type: 'flip' }} label={strings.card.flip} can={inHand} props={props} />
        <Action event={{ type: 'feed' }} label={t.feed} can={inHand} main props={props} />
        <Action event={{ type: 'take' }} label={t.take} can={returned} props={props} />
        <Action event={{ type: 'cast-anyway' }} label={t.castAnyway} can={voterMayDecide} props={props} />
        <Action event={{ type: 'spoil' }} label={t.spoil} can={inHand} props={props} />
        <Action event={{ type: 'auxiliary' }} label={t.auxiliary} can={inHand} props={props} />
      </Group>
      <Group>
        <Action
          event={{ type: 'clear-jam' }}
          label={t.clearJam}
          can={state.sheet === 'jammed'}
          props={props}
        />
        <Action event={{ type: 'empty-box' }} label={t.emptyBox} can={!state.emptied} props={props} />
        <Action event={{ type: 'power-on' }} label={t.power.on} can={!state.power} props={props} />
        <Action event={{ type: 'power-off' }} label={t.power.off} can={state.power} props={props} />
      </Group>
    </>
  )
}

export const scannerView: StationView<'scanner', ScannerState> = { lines, Drawing, Controls }
