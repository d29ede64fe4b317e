/** The ballot-marking station: takes a card, shows contests, prints the choices on the card, and records nothing.
 *  The profile decides which ways of the card it takes, what touching a further name does in a full contest, where
 *  an undervote is noticed, and whether the station also casts. */
import type { CardWay, EquipmentProfile, SetupOf } from '../../schema'
import { flipped, isAccepted, startWay, turned } from './card'
import { defineMachine, type StationEvent } from './machine'

export interface BallotMarkingState {
  /** hand: the voter holds it · returned: sticks out of the slot, refused · accepted: inside · out: printed, sticks
   *  out · window: printed, held behind glass (stations that cast) · cast: dropped into the station's own box. */
  card: 'hand' | 'accepted' | 'returned' | 'out' | 'window' | 'cast'
  way: CardWay
  condition: 'blank' | 'printed' | 'other-style'
  /** Why the card came back. */
  reason: 'none' | 'way' | 'printed' | 'other-style'
  inserts: number
  returns: number
  screen: 'idle' | 'contest' | 'review' | 'printed'
  contest: number
  /** Chosen ids by contest, in the ballot's order: the same choices are the same state, however they were touched. */
  chosen: string[][]
  notice: 'none' | 'undervote' | 'full'
  /** Contests whose undervote notice has been read past, so that it is shown once. */
  noticed: number[]
  changes: number
  textSize: number
  contrast: string
}

type Setup = SetupOf<'ballot-marking'>

const MAX_COUNT = 9
/** Nobody asks whether a voter changed something four times or five; a low cap keeps the states few. */
const MAX_CHANGES = 3

const usualTextSize = (profile: EquipmentProfile): number =>
  Math.min(1, profile.display.textSizesMm.length - 1)

export const ballotMarking = defineMachine<'ballot-marking', BallotMarkingState>({
  kind: 'ballot-marking',
  events: [
    'turn',
    'flip',
    'insert',
    'take',
    'choose',
    'next',
    'previous',
    'review',
    'open',
    'dismiss',
    'go-on',
    'print',
    'cast',
    'text-size',
    'contrast',
  ],

  start(setup, profile) {
    const inside = setup.starts === 'accepted'
    return {
      card: inside ? 'accepted' : 'hand',
      way: inside ? profile.card.accepts[0]! : startWay(setup.card.way, profile.card.accepts),
      condition: inside ? 'blank' : setup.card.condition,
      reason: 'none',
      inserts: 0,
      returns: 0,
      screen: inside ? (setup.contests.length > 0 ? 'contest' : 'review') : 'idle',
      contest: 0,
      chosen: setup.contests.map((c) => inBallotOrder(c, c.chosen)),
      notice: 'none',
      noticed: [],
      changes: 0,
      textSize: usualTextSize(profile),
      contrast: profile.display.contrasts[0]!,
    }
  },

  apply(setup, profile, state, event) {
    switch (event.type) {
      case 'turn':
        return state.card === 'hand' ? { ...state, way: turned(state.way) } : null
      case 'flip':
        return state.card === 'hand' ? { ...state, way: flipped(state.way) } : null
      case 'insert':
        return state.card === 'hand' ? insert(setup, profile, state) : null
      case 'take':
        if (state.card !== 'returned' && state.card !== 'out') return null
        return { ...state, card: 'hand', screen: 'idle', reason: 'none' }
      case 'text-size':
        return isIndex(event.to, profile.display.textSizesMm.length) && event.to !== state.textSize
          ? { ...state, textSize: event.to }
          : null
      case 'contrast':
        return profile.display.contrasts.some((c) => c === event.to) && event.to !== state.contrast
          ? { ...state, contrast: event.to as string }
          : null
      default:
        return onScreen(setup, profile, state, event)
    }
  },

  facts(setup, profile, state) {
    const under = setup.contests.filter((c, i) => state.chosen[i]!.length < c.choose).length
    return {
      card: state.card,
      lead: state.way.lead,
      face: state.way.face,
      'way-right': isAccepted(state.way, profile.card.accepts),
      printed: state.condition === 'printed',
      reason: state.reason,
      inserts: state.inserts,
      returns: state.returns,
      screen: state.screen,
      contest: setup.contests[state.contest]?.id ?? '',
      notice: state.notice,
      undervoted: under,
      changes: state.changes,
      'text-size': state.textSize,
      'text-size-mm': profile.display.textSizesMm[state.textSize]!,
      'text-largest': state.textSize === profile.display.textSizesMm.length - 1,
      contrast: state.contrast,
      'display-usual':
        state.textSize === usualTextSize(profile) && state.contrast === profile.display.contrasts[0],
      ...Object.fromEntries(
        setup.contests.map((c, i) => [`choice.${c.id}`, [...state.chosen[i]!].sort().join('+')]),
      ),
      ...Object.fromEntries(setup.contests.map((c, i) => [`count.${c.id}`, state.chosen[i]!.length])),
    }
  },

  moves(setup, profile, state) {
    const display: StationEvent[] = [
      ...profile.display.textSizesMm.flatMap((_, to) =>
        to === state.textSize ? [] : [{ type: 'text-size', to }],
      ),
      ...profile.display.contrasts.flatMap((to) => (to === state.contrast ? [] : [{ type: 'contrast', to }])),
    ]
    switch (state.card) {
      case 'hand':
        return [{ type: 'insert' }, { type: 'turn' }, { type: 'flip' }, ...display]
      case 'returned':
      case 'out':
        return [{ type: 'take' }, ...display]
      case 'window':
        return [{ type: 'cast' }, ...display]
      case 'cast':
        return display
      case 'accepted':
        break
    }
    if (state.notice === 'undervote') return [{ type: 'go-on' }, { type: 'dismiss' }, ...display]
    if (state.notice === 'full') return [{ type: 'dismiss' }, ...display]
    if (state.screen === 'review')
      return [{ type: 'print' }, ...setup.contests.map((c) => ({ type: 'open', contest: c.id })), ...display]
    const contest = setup.contests[state.contest]!
    return [
      { type: 'next' },
      ...contest.choices.map((c) => ({ type: 'choose', choice: c.id })),
      ...(state.contest > 0 ? [{ type: 'previous' }] : []),
      { type: 'review' },
      ...display,
    ]
  },
})

const isIndex = (value: unknown, length: number): value is number =>
  typeof value === 'number' && Number.isInteger(value) && value >= 0 && value < length

function insert(setup: Setup, profile: EquipmentProfile, state: BallotMarkingState): BallotMarkingState {
  const tried = { ...state, inserts: Math.min(state.inserts + 1, MAX_COUNT) }
  const reason = !isAccepted(state.way, profile.card.accepts)
    ? 'way'
    : state.condition === 'blank'
      ? 'none'
      : state.condition
  if (reason !== 'none')
    return { ...tried, card: 'returned', reason, returns: Math.min(state.returns + 1, MAX_COUNT) }
  return {
    ...tried,
    card: 'accepted',
    reason,
    screen: setup.contests.length > 0 ? 'contest' : 'review',
    contest: 0,
  }
}

function onScreen(
  setup: Setup,
  profile: EquipmentProfile,
  state: BallotMarkingState,
  event: StationEvent,
): BallotMarkingState | null {
  if (event.type === 'cast') return state.card === 'window' ? { ...state, card: 'cast' } : null
  if (state.card !== 'accepted') return null
  if (state.notice !== 'none') {
    if (event.type === 'dismiss') return { ...state, notice: 'none' }
    return event.type === 'go-on' && state.notice === 'undervote'
      ? onward(setup, { ...state, notice: 'none', noticed: withNumber(state.noticed, state.contest) })
      : null
  }
  if (state.screen === 'review') {
    if (event.type === 'print')
      return {
        ...state,
        card: profile.stationCasts ? 'window' : 'out',
        condition: 'printed',
        screen: 'printed',
      }
    const at = setup.contests.findIndex((c) => c.id === event.contest)
    return event.type === 'open' && at >= 0 ? { ...state, screen: 'contest', contest: at } : null
  }
  const contest = setup.contests[state.contest]
  if (!contest) return null
  switch (event.type) {
    case 'choose':
      return choose(profile, contest, state, event.choice)
    case 'previous':
      return state.contest > 0 ? { ...state, contest: state.contest - 1 } : null
    case 'review':
      return { ...state, screen: 'review' }
    case 'next':
      return profile.selection.undervoteNotice === 'contest' &&
        state.chosen[state.contest]!.length < contest.choose &&
        !state.noticed.includes(state.contest)
        ? { ...state, notice: 'undervote' }
        : onward(setup, state)
    default:
      return null
  }
}

const withNumber = (list: readonly number[], n: number): number[] => [...list, n].sort((a, b) => a - b)

const onward = (setup: Setup, state: BallotMarkingState): BallotMarkingState =>
  state.contest + 1 < setup.contests.length
    ? { ...state, contest: state.contest + 1 }
    : { ...state, screen: 'review' }

const inBallotOrder = (contest: Setup['contests'][number], ids: readonly string[]): string[] =>
  contest.choices.map((c) => c.id).filter((id) => ids.includes(id))

function choose(
  profile: EquipmentProfile,
  contest: Setup['contests'][number],
  state: BallotMarkingState,
  choice: unknown,
): BallotMarkingState | null {
  if (typeof choice !== 'string' || !contest.choices.some((c) => c.id === choice)) return null
  const before = state.chosen[state.contest]!
  const put = (list: string[], changed: boolean): BallotMarkingState => ({
    ...state,
    chosen: state.chosen.map((c, i) => (i === state.contest ? inBallotOrder(contest, list) : c)),
    changes: changed ? Math.min(state.changes + 1, MAX_CHANGES) : state.changes,
  })
  if (before.includes(choice))
    return put(
      before.filter((c) => c !== choice),
      true,
    )
  if (before.length < contest.choose) return put([...before, choice], false)
  // Replacing makes sense only where one choice is allowed: with several, nobody could say which one should go.
  if (profile.selection.whenFull === 'replace' && contest.choose === 1) return put([choice], true)
  return { ...state, notice: 'full' }
}
