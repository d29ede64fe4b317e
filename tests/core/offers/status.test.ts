import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { addDays, type CivilDate, civilDate } from '@/lib/kernel/dates'
import {
  DECISIVE,
  mayHappen,
  OFFER_STATES,
  type OfferEventFacts,
  type OfferEventKind,
  offerStatus,
} from '@/lib/offers/core/status'

const DAY = civilDate('2028-10-01')
const offered = (answerBy = DAY): OfferEventFacts => ({ kind: 'offered', answerBy })
const just = (kind: OfferEventKind): OfferEventFacts => ({ kind, answerBy: null })
const state = (events: OfferEventFacts[], today = DAY) => offerStatus(events, today).state

describe('the state of an offer', () => {
  it('is open until the end of the deadline’s own day, then overdue', () => {
    expect(state([offered()], civilDate('2028-09-01'))).toBe('open')
    expect(state([offered()], civilDate('2028-10-01'))).toBe('open')
    expect(state([offered()], civilDate('2028-10-02'))).toBe('overdue')
  })
  it('is open again when an overdue one gets more time', () => {
    const more: OfferEventFacts = { kind: 'extended', answerBy: civilDate('2028-10-05') }
    expect(state([offered(), more], civilDate('2028-10-05'))).toBe('open')
    expect(state([offered(), more], civilDate('2028-10-06'))).toBe('overdue')
  })
  it('follows the last word: somebody who accepted may still decline, and may be asked anew', () => {
    expect(state([offered(), just('accepted')])).toBe('accepted')
    expect(state([offered(), just('accepted'), just('declined')])).toBe('declined')
    expect(state([offered(), just('declined'), offered()])).toBe('open')
    expect(state([offered(), just('askedElsewhere')])).toBe('asked')
  })
  it('counts calls and returned letters of the newest offer alone', () => {
    const events = [offered(), just('called'), just('returned'), just('declined'), offered(), just('called')]
    expect(offerStatus(events, DAY)).toMatchObject({ calls: 1, letterReturned: false })
  })
  it('is refused without an offer to begin with', () => {
    expect(() => offerStatus([just('called')], DAY)).toThrow(RangeError)
  })
})

const KINDS: OfferEventKind[] = [...DECISIVE, 'extended', 'called', 'returned']
const arbitraryEvents = fc
  .array(fc.record({ kind: fc.constantFrom(...KINDS), days: fc.integer({ min: 0, max: 30 }) }), {
    maxLength: 12,
  })
  .map((list) => [
    offered(),
    ...list.map(
      ({ kind, days }): OfferEventFacts => ({
        kind,
        answerBy: kind === 'offered' || kind === 'extended' ? addDays(DAY, days) : null,
      }),
    ),
  ])

describe('laws of an offer', () => {
  it('calls and returned letters never change the state', () => {
    fc.assert(
      fc.property(arbitraryEvents, fc.integer({ min: -5, max: 40 }), (events, days) => {
        const today = addDays(DAY, days)
        const without = events.filter((e) => e.kind !== 'called' && e.kind !== 'returned')
        return state(events, today) === state(without, today)
      }),
    )
  })
  it('time alone turns nothing but open into overdue, and never back', () => {
    fc.assert(
      fc.property(arbitraryEvents, fc.integer({ min: -5, max: 40 }), fc.nat(20), (events, days, later) => {
        const [before, after] = [state(events, addDays(DAY, days)), state(events, addDays(DAY, days + later))]
        return before === after || (before === 'open' && after === 'overdue')
      }),
    )
  })
  it('nothing is forgotten: what the guard lets happen is what the state then says', () => {
    const says: Partial<Record<OfferEventKind, string[]>> = {
      accepted: ['accepted'],
      declined: ['declined'],
      askedElsewhere: ['asked'],
      withdrawn: ['withdrawn'],
      offered: ['open', 'overdue'],
    }
    fc.assert(
      fc.property(arbitraryEvents, fc.constantFrom(...KINDS), (events, kind) => {
        const before = state(events)
        if (!mayHappen(kind, before)) return
        const answerBy: CivilDate | null = kind === 'offered' || kind === 'extended' ? DAY : null
        const after = state([...events, { kind, answerBy }])
        expect(says[kind] ?? [before, 'open', 'overdue']).toContain(after)
      }),
    )
  })
  it('an answer is possible in every state but the two that are over', () => {
    const answerable = OFFER_STATES.filter((s) => mayHappen('declined', s))
    expect(answerable).toEqual(['accepted', 'open', 'overdue', 'asked'])
  })
})
