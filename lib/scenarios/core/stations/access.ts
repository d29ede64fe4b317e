/** The accessible set-up: headset, tactile keypad and paired switches in their jacks, volume, picture off for privacy;
 *  the table's height and knee room, the clear floor and the width of the route. Lengths in inches. */
import { defineMachine, type StationEvent } from './machine'

export interface AccessState {
  /** Device in each jack or port, or null. */
  headsetJack: string | null
  switchJack: string | null
  keypadPort: string | null
  volume: number
  screen: 'on' | 'off'
  tableTopIn: number
  kneeHighIn: number
  routeIn: number
  floorClear: boolean
}

/** Numbers of the 2010 ADA Standards, WRITTEN FROM MEMORY (reference/law, 'from_memory'); check before relying on them:
 *  902.3 work surface 28 to 34 in · 306.3 knee clearance 27 in high · 403.5.1 route 36 in · 305.3 clear floor 30 × 48. */
export const ACCESS_NUMBERS = { surfaceLowIn: 28, surfaceHighIn: 34, kneeIn: 27, routeIn: 36 } as const

const DEVICES = ['headset', 'switches', 'keypad'] as const
const JACKS = ['headset-jack', 'switch-jack', 'keypad-port'] as const
const FIELD = {
  'headset-jack': 'headsetJack',
  'switch-jack': 'switchJack',
  'keypad-port': 'keypadPort',
} as const

/** Keypads have a plug of their own; headset and switches share the 3.5 mm plug, so they can go in the wrong jack. */
const fits = (device: string, jack: string) => (device === 'keypad') === (jack === 'keypad-port')

export const access = defineMachine<'access', AccessState>({
  kind: 'access',
  events: ['plug', 'unplug', 'volume', 'screen', 'table', 'route', 'clear-floor'],

  start: (setup) => ({
    headsetJack: null,
    switchJack: null,
    keypadPort: null,
    volume: setup.volume,
    screen: setup.screen,
    tableTopIn: setup.tableTopIn,
    kneeHighIn: setup.kneeHighIn,
    routeIn: setup.routeIn,
    floorClear: setup.floorClear,
  }),

  apply(setup, profile, state, event) {
    switch (event.type) {
      case 'plug': {
        const device = DEVICES.find((d) => d === event.device)
        const jack = JACKS.find((j) => j === event.jack)
        if (
          !device ||
          !jack ||
          !fits(device, jack) ||
          state[FIELD[jack]] !== null ||
          isPlugged(state, device)
        )
          return null
        const offered = { headset: 'audio', keypad: 'keypad', switches: 'switches' } as const
        return profile.assistive[offered[device]] ? { ...state, [FIELD[jack]]: device } : null
      }
      case 'unplug': {
        const jack = JACKS.find((j) => j === event.jack)
        return jack && state[FIELD[jack]] !== null ? { ...state, [FIELD[jack]]: null } : null
      }
      case 'volume': {
        const volume = event.to
        return typeof volume === 'number' &&
          Number.isInteger(volume) &&
          volume >= 0 &&
          volume <= 10 &&
          volume !== state.volume
          ? { ...state, volume }
          : null
      }
      case 'screen':
        return (event.to === 'on' || event.to === 'off') &&
          event.to !== state.screen &&
          profile.assistive.screenOff
          ? { ...state, screen: event.to }
          : null
      case 'table': {
        // The knee room moves with the table top: the board under it keeps its thickness.
        const by = event.by === 1 || event.by === -1 ? event.by : 0
        const tableTopIn = state.tableTopIn + by
        return by !== 0 && tableTopIn >= 24 && tableTopIn <= 44
          ? { ...state, tableTopIn, kneeHighIn: setup.kneeHighIn + tableTopIn - setup.tableTopIn }
          : null
      }
      case 'route': {
        const by = event.by === 2 || event.by === -2 ? event.by : 0
        const routeIn = state.routeIn + by
        return by !== 0 && routeIn >= 20 && routeIn <= 72 ? { ...state, routeIn } : null
      }
      case 'clear-floor':
        return state.floorClear ? null : { ...state, floorClear: true }
      default:
        return null
    }
  },

  facts(_setup, _profile, state) {
    const surfaceOk =
      state.tableTopIn >= ACCESS_NUMBERS.surfaceLowIn && state.tableTopIn <= ACCESS_NUMBERS.surfaceHighIn
    const kneeOk = state.kneeHighIn >= ACCESS_NUMBERS.kneeIn
    const routeOk = state.routeIn >= ACCESS_NUMBERS.routeIn
    return {
      headset: state.headsetJack === 'headset',
      switches: state.switchJack === 'switches',
      keypad: state.keypadPort === 'keypad',
      'wrong-jack': state.headsetJack === 'switches' || state.switchJack === 'headset',
      volume: state.volume,
      screen: state.screen,
      'table-top-in': state.tableTopIn,
      'knee-high-in': state.kneeHighIn,
      'route-in': state.routeIn,
      'floor-clear': state.floorClear,
      'surface-ok': surfaceOk,
      'knee-ok': kneeOk,
      'route-ok': routeOk,
      'table-ok': surfaceOk && kneeOk,
      'space-ok': surfaceOk && kneeOk && routeOk && state.floorClear,
    }
  },

  moves(_setup, profile, state) {
    const moves: StationEvent[] = []
    const offered = {
      headset: profile.assistive.audio,
      keypad: profile.assistive.keypad,
      switches: profile.assistive.switches,
    }
    for (const jack of JACKS) {
      if (state[FIELD[jack]] !== null) moves.push({ type: 'unplug', jack })
      else
        for (const device of DEVICES)
          if (offered[device] && fits(device, jack) && !isPlugged(state, device))
            moves.push({ type: 'plug', device, jack })
    }
    if (state.volume > 0) moves.push({ type: 'volume', to: state.volume - 1 })
    if (state.volume < 10) moves.push({ type: 'volume', to: state.volume + 1 })
    if (profile.assistive.screenOff) moves.push({ type: 'screen', to: state.screen === 'on' ? 'off' : 'on' })
    if (state.tableTopIn > 24) moves.push({ type: 'table', by: -1 })
    if (state.tableTopIn < 44) moves.push({ type: 'table', by: 1 })
    if (state.routeIn < 72) moves.push({ type: 'route', by: 2 })
    if (state.routeIn > 21) moves.push({ type: 'route', by: -2 })
    if (!state.floorClear) moves.push({ type: 'clear-floor' })
    return moves
  },
})

const isPlugged = (state: AccessState, device: string): boolean =>
  [state.headsetJack, state.switchJack, state.keypadPort].includes(device)
