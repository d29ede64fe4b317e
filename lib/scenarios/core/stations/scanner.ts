/** The scanner over a ballot box. The profile says which ways it takes and what it gives back with which reason.
 *  Without power, jammed or full, ballots go into the auxiliary compartment and are scanned later (common practice). */
import type { CardWay, EquipmentProfile, SetupOf } from '../../schema'
import { flipped, isAccepted, startWay, turned } from './card'
import { defineMachine, type StationEvent } from './machine'

export interface ScannerState {
  /** Index of the ballot in front of the scanner; ballots.length when all are done. */
  ballot: number
  way: CardWay
  /** hand: the voter holds it · returned: given back, the screen says why · jammed: stuck half-way. */
  sheet: 'hand' | 'returned' | 'jammed'
  reason: 'none' | 'way' | 'overvote' | 'undervote' | 'blank' | 'full' | 'power' | 'jam'
  /** The jam of this ballot has been cleared. */
  cleared: boolean
  power: boolean
  counter: number
  /** Sheets in the box since the start. */
  inBox: number
  auxiliary: number
  spoiled: number
  /** The box was emptied into a sealed container. */
  emptied: boolean
}

type Setup = SetupOf<'scanner'>

const wayOf = (setup: Setup, profile: EquipmentProfile, at: number): CardWay =>
  startWay(setup.ballots[at]?.way ?? 'right', profile.scanner.accepts)

export const scanner = defineMachine<'scanner', ScannerState>({
  kind: 'scanner',
  events: [
    'turn',
    'flip',
    'feed',
    'take',
    'cast-anyway',
    'spoil',
    'auxiliary',
    'clear-jam',
    'empty-box',
    'power-on',
    'power-off',
  ],

  start: (setup, profile) => ({
    ballot: 0,
    way: wayOf(setup, profile, 0),
    sheet: 'hand',
    reason: 'none',
    cleared: false,
    power: setup.power,
    counter: setup.counter,
    inBox: 0,
    auxiliary: 0,
    spoiled: 0,
    emptied: false,
  }),

  apply(setup, profile, state, event) {
    const ballot = setup.ballots[state.ballot]
    const nextBallot = (change: Partial<ScannerState>): ScannerState => ({
      ...state,
      sheet: 'hand',
      reason: 'none',
      cleared: false,
      ...change,
      ballot: state.ballot + 1,
      way: wayOf(setup, profile, state.ballot + 1),
    })
    switch (event.type) {
      case 'power-on':
        return state.power
          ? null
          : { ...state, power: true, reason: state.reason === 'power' ? 'none' : state.reason }
      case 'power-off':
        return state.power ? { ...state, power: false } : null
      case 'empty-box':
        return state.emptied
          ? null
          : { ...state, emptied: true, reason: state.reason === 'full' ? 'none' : state.reason }
      default:
        break
    }
    if (!ballot) return null
    if (state.sheet === 'jammed')
      return event.type === 'clear-jam' ? { ...state, sheet: 'hand', reason: 'none', cleared: true } : null
    if (state.sheet === 'returned') {
      if (event.type === 'take') return { ...state, sheet: 'hand', reason: 'none' }
      const voterMayDecide = ['overvote', 'undervote', 'blank'].includes(state.reason)
      return event.type === 'cast-anyway' && voterMayDecide
        ? nextBallot({ counter: state.counter + 1, inBox: state.inBox + 1 })
        : null
    }
    switch (event.type) {
      case 'turn':
        return { ...state, way: turned(state.way) }
      case 'flip':
        return { ...state, way: flipped(state.way) }
      case 'auxiliary':
        return nextBallot({ auxiliary: state.auxiliary + 1 })
      case 'spoil':
        return nextBallot({ spoiled: state.spoiled + 1 })
      case 'feed': {
        const reason = refusal(setup, profile, state)
        if (reason === 'none') return nextBallot({ counter: state.counter + 1, inBox: state.inBox + 1 })
        if (reason === 'power' || reason === 'full') return { ...state, reason }
        return { ...state, sheet: reason === 'jam' ? 'jammed' : 'returned', reason }
      }
      default:
        return null
    }
  },

  facts(setup, profile, state) {
    return {
      sheet: state.sheet,
      reason: state.reason,
      'way-right': isAccepted(state.way, profile.scanner.accepts),
      counter: state.counter,
      'in-box': state.inBox,
      auxiliary: state.auxiliary,
      spoiled: state.spoiled,
      power: state.power,
      emptied: state.emptied,
      ballot: setup.ballots[state.ballot]?.id ?? '',
      'all-done': state.ballot >= setup.ballots.length,
      left: setup.ballots.length - state.ballot,
    }
  },

  moves(setup, _profile, state) {
    const moves: StationEvent[] = []
    if (state.ballot < setup.ballots.length) {
      if (state.sheet === 'jammed') moves.push({ type: 'clear-jam' })
      else if (state.sheet === 'returned') {
        moves.push({ type: 'take' })
        if (['overvote', 'undervote', 'blank'].includes(state.reason)) moves.push({ type: 'cast-anyway' })
      } else
        moves.push(
          { type: 'feed' },
          { type: 'turn' },
          { type: 'flip' },
          { type: 'auxiliary' },
          { type: 'spoil' },
        )
    }
    moves.push({ type: state.power ? 'power-off' : 'power-on' })
    if (!state.emptied) moves.push({ type: 'empty-box' })
    return moves
  },
})

/** Why the sheet in hand wouldn't go in now, or 'none'. */
function refusal(setup: Setup, profile: EquipmentProfile, state: ScannerState): ScannerState['reason'] {
  const ballot = setup.ballots[state.ballot]!
  if (!state.power) return 'power'
  if (state.inBox >= setup.room && !state.emptied) return 'full'
  if (!isAccepted(state.way, profile.scanner.accepts)) return 'way'
  if (ballot.jams && !state.cleared) return 'jam'
  if (ballot.marks !== 'fine' && profile.scanner[ballot.marks] === 'returned') return ballot.marks
  return 'none'
}
