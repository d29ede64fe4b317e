/** The exit post: people come by one at a time, with and without having cast. The trainee greets, asks, points the
 *  way, fetches the lead or lets them go; taking a ballot out of somebody's hand is possible, and judged. */
import { defineMachine, type StationEvent } from './machine'

export interface ExitState {
  /** Index of the person at the post; people.length when all have passed. */
  person: number
  /** What was done with the person at the post. */
  done: string[]
  /** Where each person who has passed went, by id. */
  went: Record<string, 'scanner' | 'lead' | 'out'>
  /** Somebody was touched, or a ballot taken. */
  took: boolean
}

export const exit = defineMachine<'exit', ExitState>({
  kind: 'exit',
  events: ['greet', 'ask', 'take-ballot', 'send'],

  start: () => ({ person: 0, done: [], went: {}, took: false }),

  apply(setup, _profile, state, event) {
    const person = setup.people[state.person]
    if (!person) return null
    switch (event.type) {
      case 'greet':
      case 'ask':
        return state.done.includes(event.type) ? null : { ...state, done: [...state.done, event.type].sort() }
      case 'take-ballot':
        return person.carries === 'ballot' && !state.done.includes('took')
          ? { ...state, done: [...state.done, 'took'].sort(), took: true }
          : null
      case 'send':
        return event.to === 'scanner' || event.to === 'lead' || event.to === 'out'
          ? { ...state, went: { ...state.went, [person.id]: event.to }, person: state.person + 1, done: [] }
          : null
      default:
        return null
    }
  },

  facts(setup, _profile, state) {
    const passed = setup.people.filter((p) => state.went[p.id])
    const uncast = passed.filter((p) => p.carries === 'ballot' && !p.cast)
    return {
      person: setup.people[state.person]?.id ?? '',
      greeted: state.done.includes('greet'),
      asked: state.done.includes('ask'),
      took: state.took,
      passed: passed.length,
      'all-passed': state.person >= setup.people.length,
      'left-with-ballot': uncast.filter((p) => state.went[p.id] === 'out').length,
      'sent-back-in-vain': passed.filter((p) => p.cast && state.went[p.id] !== 'out').length,
      'all-right': passed.every((p) =>
        p.carries === 'ballot' && !p.cast ? state.went[p.id] !== 'out' : state.went[p.id] === 'out',
      ),
      ...Object.fromEntries(setup.people.map((p) => [`went.${p.id}`, state.went[p.id] ?? ''])),
    }
  },

  moves(setup, _profile, state) {
    const person = setup.people[state.person]
    if (!person) return []
    const moves: StationEvent[] = ['scanner', 'lead', 'out'].map((to) => ({ type: 'send', to }))
    for (const type of ['greet', 'ask']) if (!state.done.includes(type)) moves.push({ type })
    if (person.carries === 'ballot' && !state.done.includes('took')) moves.push({ type: 'take-ballot' })
    return moves
  },
})
