'use client'

import type { AccessState } from '@/lib/scenarios/core/stations/access'
import { Action, Group, type StationProps, type StationView } from './parts'

type Props = StationProps<'access', AccessState>

const JACKS = [
  { jack: 'headset-jack', field: 'headsetJack', takes: ['headset', 'switches'] },
  { jack: 'switch-jack', field: 'switchJack', takes: ['headset', 'switches'] },
  { jack: 'keypad-port', field: 'keypadPort', takes: ['keypad'] },
] as const

const OFFERED = { headset: 'audio', keypad: 'keypad', switches: 'switches' } as const

function lines(props: Props): string[] {
  const { state, strings } = props
  const t = strings.access
  const jacks = props.allowed('plug')
    ? JACKS.map(({ jack, field }) => t.inJack(t.jack[jack]!, state[field] ? t.device[state[field]]! : t.free))
    : []
  return [
    ...jacks,
    ...(props.allowed('volume') ? [t.volume(state.volume)] : []),
    ...(props.allowed('screen') ? [t.screenIs[state.screen]!] : []),
    ...(props.allowed('table') ? [t.table(state.tableTopIn, state.kneeHighIn)] : []),
    ...(props.allowed('route') ? [t.route(state.routeIn)] : []),
    ...(props.allowed('clear-floor') ? [t.floor[String(state.floorClear)]!] : []),
  ]
}

function Drawing({ state }: Props) {
  const top = 150 - (state.tableTopIn - 20) * 4
  const knee = 150 - (state.kneeHighIn - 20) * 4
  const cord = (x: number, on: string | null) =>
    on ? <path d={`M${x} ${top - 12} c0 30 -40 0 -44 34`} className="play-cord" /> : null
  return (
    <svg className="play-drawing" viewBox="0 0 240 170" aria-hidden="true">
      <path d="M4 152h232" className="play-line" />
      <rect x="70" y={top} width="120" height="6" className="play-fill" />
      <rect x="84" y={top + 6} width="92" height={Math.max(2, knee - top - 6)} className="play-slot-soft" />
      <path d={`M74 ${top + 6}V152M186 ${top + 6}V152`} className="play-line play-line-strong" />
      <rect
        x="98"
        y={top - 56}
        width="64"
        height="44"
        rx="4"
        className={state.screen === 'on' ? 'play-screen' : 'play-screen play-screen-dark'}
      />
      <rect x="98" y={top - 12} width="64" height="10" className="play-body" />
      <circle cx="108" cy={top - 7} r="3" className={state.headsetJack ? 'play-mark' : 'play-slot'} />
      <circle cx="130" cy={top - 7} r="3" className={state.switchJack ? 'play-mark' : 'play-slot'} />
      <rect
        x="146"
        y={top - 10}
        width="10"
        height="6"
        className={state.keypadPort ? 'play-mark' : 'play-slot'}
      />
      {cord(108, state.headsetJack)}
      {cord(130, state.switchJack)}
      {state.floorClear ? null : (
        <path d="M22 152v-30h26v30M22 122v-26M48 152v-14h-26" className="play-line play-line-strong" />
      )}
      <path
        d={`M${120 - state.routeIn} 164h${2 * state.routeIn}M${120 - state.routeIn} 160v8M${120 + state.routeIn} 160v8`}
        className="play-line"
      />
    </svg>
  )
}

function Controls(props: Props) {
  const { profile, state, strings } = props
  const t = strings.access
  const plugged = [state.headsetJack, state.switchJack, state.keypadPort]
  return (
    <>
      {props.allowed('plug') || props.allowed('unplug') ? (
        <Group>
          {JACKS.flatMap(({ jack, field, takes }) =>
            takes
              .filter((device) => profile.assistive[OFFERED[device]])
              .map((device) =>
                state[field] === device ? (
                  <Action
                    key={`${jack}-${device}`}
                    event={{ type: 'unplug', jack }}
                    label={t.unplug(t.device[device]!, t.jack[jack]!)}
                    can
                    props={props}
                  />
                ) : (
                  <Action
                    key={`${jack}-${device}`}
                    event={{ type: 'plug', device, jack }}
                    label={t.plug(t.device[device]!, t.jack[jack]!)}
                    can={state[field] === null && !plugged.includes(device)}
                    props={props}
                  />
                ),
              ),
          )}
        </Group>
      ) : null}
      <Group>
        <Action
          event={{ type: 'volume', to: state.volume - 1 }}
          label={t.quieter}
          can={state.volume > 0}
          props={props}
        />
        <Action
          event={{ type: 'volume', to: state.volume + 1 }}
          label={t.louder}
          can={state.volume < 10}
          props={props}
        />
        <Action
          event={{ type: 'screen', to: state.screen === 'on' ? 'off' : 'on' }}
          label={t.screen[state.screen === 'on' ? 'off' : 'on']!}
          can={profile.assistive.screenOff}
          props={props}
        />
      </Group>
      <Group>
        <Action event={{ type: 'table', by: 1 }} label={t.higher} can={state.tableTopIn < 44} props={props} />
        <Action event={{ type: 'table', by: -1 }} label={t.lower} can={state.tableTopIn > 24} props={props} />
        <Action event={{ type: 'route', by: 2 }} label={t.wider} can={state.routeIn <= 70} props={props} />
        <Action
          event={{ type: 'route', by: -2 }}
          label={t.narrower}
          can={state.routeIn >= 22}
          props={props}
        />
        <Action event={{ type: 'clear-floor' }} label={t.clearFloor} can={!state.floorClear} props={props} />
      </Group>
    </>
  )
}

export const accessView: StationView<'access', AccessState> = { lines, Drawing, Controls }
