/** The check-in table: find the line in the poll book, ask what the county's rule asks, hand over the right blank
 *  ballot or card; or set the matter aside for the lead (with the provisional way open). */
import type { EquipmentProfile, SetupOf } from '../../schema'
import { defineMachine, type StationEvent } from './machine'

export interface CheckInState {
  /** The open line of the poll book. */
  line: string | null
  /** What the visitor was asked. */
  asked: string[]
  /** The line that carries the visitor's signature or check mark. */
  signed: string | null
  /** The style in the trainee's hand. */
  inHand: string | null
  handed: string | null
  /** Cards handed over by mistake and taken back; they count as spoiled. */
  takenBack: number
  /** Who was asked to come: the lead. */
  lead: boolean
}

type Setup = SetupOf<'check-in'>

/** Questions that can be asked. The profile's rule names the one that must be. Asking for a document where the rule
 *  doesn't is possible, and scenarios judge it. */
export const CHECK_IN_QUESTIONS = ['name-and-address', 'photo-document', 'party'] as const

/** What the rule needs before the line may be signed: a signature rule asks for the name and address, too. */
const neededQuestion = (profile: EquipmentProfile): string =>
  profile.checkIn.rule === 'photo-document' ? 'photo-document' : 'name-and-address'

export const checkIn = defineMachine<'check-in', CheckInState>({
  kind: 'check-in',
  events: [
    'ask',
    'open-line',
    'close-line',
    'sign',
    'take-card',
    'put-back',
    'hand-over',
    'take-back',
    'call-lead',
  ],

  start: () => ({
    line: null,
    asked: [],
    signed: null,
    inHand: null,
    handed: null,
    takenBack: 0,
    lead: false,
  }),

  apply(setup, _profile, state, event) {
    switch (event.type) {
      case 'ask': {
        const question = CHECK_IN_QUESTIONS.find((q) => q === event.question)
        return question && !state.asked.includes(question)
          ? { ...state, asked: [...state.asked, question].sort() }
          : null
      }
      case 'open-line':
        return setup.lines.some((l) => l.id === event.line) && state.line !== event.line
          ? { ...state, line: event.line as string }
          : null
      case 'close-line':
        return state.line === null ? null : { ...state, line: null }
      case 'sign':
        return state.line !== null && state.signed === null ? { ...state, signed: state.line } : null
      case 'take-card':
        return state.inHand === null && setup.styles.some((s) => s === event.style)
          ? { ...state, inHand: event.style as string }
          : null
      case 'put-back':
        return state.inHand === null ? null : { ...state, inHand: null }
      case 'hand-over':
        return state.inHand !== null && state.handed === null
          ? { ...state, handed: state.inHand, inHand: null }
          : null
      case 'take-back':
        return state.handed === null
          ? null
          : { ...state, handed: null, takenBack: Math.min(9, state.takenBack + 1) }
      case 'call-lead':
        return state.lead ? null : { ...state, lead: true }
      default:
        return null
    }
  },

  facts(setup, profile, state) {
    const visitor = setup.lines.find((l) => l.id === setup.visitor)
    const open = setup.lines.find((l) => l.id === state.line)
    return {
      line: state.line ?? '',
      'line-right': state.line !== null && state.line === setup.visitor,
      'line-status': open?.status ?? '',
      'asked.name-and-address': state.asked.includes('name-and-address'),
      'asked.photo-document': state.asked.includes('photo-document'),
      'asked.party': state.asked.includes('party'),
      'rule-met': state.asked.includes(neededQuestion(profile)),
      rule: profile.checkIn.rule,
      signed: state.signed ?? '',
      'signed-right': state.signed !== null && state.signed === setup.visitor,
      'in-hand': state.inHand ?? '',
      handed: state.handed ?? '',
      'handed-any': state.handed !== null,
      'handed-right': state.handed !== null && state.handed === visitor?.style,
      'taken-back': state.takenBack,
      lead: state.lead,
    }
  },

  moves(setup: Setup, _profile, state) {
    const moves: StationEvent[] = []
    for (const question of CHECK_IN_QUESTIONS)
      if (!state.asked.includes(question)) moves.push({ type: 'ask', question })
    for (const line of setup.lines)
      if (line.id !== state.line) moves.push({ type: 'open-line', line: line.id })
    if (state.line !== null) moves.push({ type: 'close-line' })
    if (state.line !== null && state.signed === null) moves.push({ type: 'sign' })
    if (state.inHand === null) for (const style of setup.styles) moves.push({ type: 'take-card', style })
    else moves.push({ type: 'put-back' })
    if (state.inHand !== null && state.handed === null) moves.push({ type: 'hand-over' })
    if (state.handed !== null) moves.push({ type: 'take-back' })
    if (!state.lead) moves.push({ type: 'call-lead' })
    return moves
  },
})
