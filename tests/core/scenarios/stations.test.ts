import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { listEquipmentProfiles } from '@/lib/scenarios/content'
import { access } from '@/lib/scenarios/core/stations/access'
import { ballotMarking } from '@/lib/scenarios/core/stations/ballot-marking'
import { FOUR_WAYS, flipped, isAccepted, startWay, turned } from '@/lib/scenarios/core/stations/card'
import { checkIn } from '@/lib/scenarios/core/stations/check-in'
import { exit } from '@/lib/scenarios/core/stations/exit'
import type { Machine, StationEvent } from '@/lib/scenarios/core/stations/machine'
import { scanner } from '@/lib/scenarios/core/stations/scanner'
import { seals, unaccounted } from '@/lib/scenarios/core/stations/seals'
import { type EquipmentProfile, StationSetup } from '@/lib/scenarios/schema'
import { profileOf } from './support'

const setup = (json: object): never => StationSetup.parse(json) as never

/** Plays events; every one must be allowed unless `refused`. */
function play(
  machine: Machine<never, object>,
  s: never,
  profile: EquipmentProfile,
  events: (StationEvent | string)[],
) {
  let state = machine.start(s, profile)
  for (const e of events) {
    const event = typeof e === 'string' ? { type: e } : e
    const next = machine.apply(s, profile, state as never, event)
    expect(next, `${JSON.stringify(event)} in ${JSON.stringify(state)}`).not.toBeNull()
    state = next!
  }
  return machine.facts(s, profile, state as never)
}
const any = (machine: unknown) => machine as Machine<never, object>

describe('a card', () => {
  it('has four ways; turning and flipping undo themselves and commute', () => {
    for (const way of FOUR_WAYS) {
      expect(turned(turned(way))).toEqual(way)
      expect(flipped(flipped(way))).toEqual(way)
      expect(turned(flipped(way))).toEqual(flipped(turned(way)))
    }
    expect(new Set(FOUR_WAYS.map((w) => JSON.stringify(w))).size).toBe(4)
  })
  it('starts wrong on every profile where a wrong way exists', () => {
    for (const p of listEquipmentProfiles())
      expect(isAccepted(startWay('wrong', p.card.accepts), p.card.accepts)).toBe(false)
  })
})

const TWO_CONTESTS = setup({
  kind: 'ballot-marking',
  card: { way: 'right' },
  contests: [
    {
      id: 'mayor',
      label: 'mayor',
      choose: 1,
      choices: [
        { id: 'ana', name: 'Ana Pell' },
        { id: 'bo', name: 'Bo Lund' },
      ],
    },
    {
      id: 'board',
      label: 'board',
      choose: 2,
      choices: [
        { id: 'cy', name: 'Cy Orr' },
        { id: 'di', name: 'Di Fox' },
        { id: 'ed', name: 'Ed Nys' },
      ],
    },
  ],
})
const choose = (choice: string) => ({ type: 'choose', choice })

describe('the ballot-marking station', () => {
  it('takes exactly the ways that the profile names, of all four', () => {
    for (const profile of listEquipmentProfiles())
      for (const way of FOUR_WAYS) {
        const s = setup({ kind: 'ballot-marking', card: { way } })
        const facts = play(any(ballotMarking), s, profile, ['insert'])
        expect(facts.card).toBe(isAccepted(way, profile.card.accepts) ? 'accepted' : 'returned')
      }
  })
  it('gives back a printed card and one of another style with their own reasons', () => {
    for (const condition of ['printed', 'other-style']) {
      const s = setup({ kind: 'ballot-marking', card: { way: 'right', condition } })
      expect(play(any(ballotMarking), s, profileOf('fern'), ['insert'])).toMatchObject({
        card: 'returned',
        reason: condition,
      })
    }
  })
  it('replaces the choice of a one-choice contest on fern and asks to clear first on moss', () => {
    expect(
      play(any(ballotMarking), TWO_CONTESTS, profileOf('fern'), ['insert', choose('ana'), choose('bo')]),
    ).toMatchObject({ 'choice.mayor': 'bo', notice: 'none', changes: 1 })
    expect(
      play(any(ballotMarking), TWO_CONTESTS, profileOf('moss'), ['insert', choose('ana'), choose('bo')]),
    ).toMatchObject({ 'choice.mayor': 'ana', notice: 'full' })
  })
  it('comes to the same state in whatever order the same choices are touched', () => {
    const m = any(ballotMarking)
    const chosenBy = (...picks: string[]) =>
      ['insert', 'next', ...picks.map(choose)].reduce(
        (state, e) =>
          m.apply(TWO_CONTESTS, profileOf('fern'), state as never, typeof e === 'string' ? { type: e } : e)!,
        m.start(TWO_CONTESTS, profileOf('fern')),
      )
    expect(chosenBy('ed', 'cy')).toEqual(chosenBy('cy', 'ed'))
  })
  it('knows whether letters and colors are as at the start', () => {
    for (const profile of listEquipmentProfiles()) {
      const facts = (...events: StationEvent[]) => play(any(ballotMarking), TWO_CONTESTS, profile, events)
      expect(facts()['display-usual']).toBe(true)
      expect(facts({ type: 'text-size', to: 2 })['display-usual']).toBe(false)
      expect(facts({ type: 'contrast', to: profile.display.contrasts[1]! })['display-usual']).toBe(false)
      expect(facts({ type: 'text-size', to: 2 }, { type: 'text-size', to: 1 })['display-usual']).toBe(true)
    }
  })
  it('never lets a contest hold more than it allows, whatever is pressed', () => {
    fc.assert(
      fc.property(
        fc.constantFrom('fern', 'moss', 'reed'),
        fc.array(fc.nat(20), { maxLength: 60 }),
        (id, picks) => {
          const profile = profileOf(id)
          const m = any(ballotMarking)
          let state = m.start(TWO_CONTESTS, profile)
          for (const pick of picks) {
            const moves = m.moves(TWO_CONTESTS, profile, state as never)
            if (moves.length === 0) break
            const next = m.apply(TWO_CONTESTS, profile, state as never, moves[pick % moves.length]!)
            // Every move that is offered is allowed.
            expect(next).not.toBeNull()
            state = next!
            const facts = m.facts(TWO_CONTESTS, profile, state as never)
            expect(facts['count.mayor']).toBeLessThanOrEqual(1)
            expect(facts['count.board']).toBeLessThanOrEqual(2)
          }
        },
      ),
      { numRuns: 60 },
    )
  })
  it('notices an undervote in the contest on reed, leads back on wish, and lets it stand', () => {
    const reed = profileOf('reed')
    expect(play(any(ballotMarking), TWO_CONTESTS, reed, ['insert', 'next'])).toMatchObject({
      notice: 'undervote',
      contest: 'mayor',
    })
    expect(play(any(ballotMarking), TWO_CONTESTS, reed, ['insert', 'next', 'dismiss'])).toMatchObject({
      notice: 'none',
      contest: 'mayor',
    })
    expect(play(any(ballotMarking), TWO_CONTESTS, reed, ['insert', 'next', 'go-on'])).toMatchObject({
      notice: 'none',
      contest: 'board',
      undervoted: 2,
    })
  })
  it('leads from the review page back to the contest, and prints without recording', () => {
    const fern = profileOf('fern')
    const way = [
      'insert',
      choose('ana'),
      'review',
      { type: 'open', contest: 'board' },
      choose('cy'),
      'next',
      'print',
    ]
    expect(play(any(ballotMarking), TWO_CONTESTS, fern, way)).toMatchObject({
      card: 'out',
      printed: true,
      screen: 'printed',
      'choice.board': 'cy',
    })
    // A printed card can't go in again: it is not blank.
    expect(play(any(ballotMarking), TWO_CONTESTS, fern, [...way, 'take', 'insert'])).toMatchObject({
      card: 'returned',
      reason: 'printed',
    })
  })
  it('holds the printed card behind the window where the station also casts', () => {
    expect(
      play(any(ballotMarking), TWO_CONTESTS, profileOf('reed'), ['insert', 'review', 'print', 'cast']).card,
    ).toBe('cast')
  })
})

describe('the scanner', () => {
  const ballots = (marks: string) => setup({ kind: 'scanner', counter: 7, ballots: [{ id: 'one', marks }] })
  // From the profiles' own table in AUTHORING.md: overvote / undervote / blank.
  const RULES: [string, string, string, string][] = [
    ['fern', 'returned', 'accepted', 'returned'],
    ['moss', 'returned', 'returned', 'returned'],
    ['reed', 'returned', 'accepted', 'accepted'],
  ]
  it.each(RULES)('follows the rule of %s', (id, ...rules) => {
    ;['overvote', 'undervote', 'blank'].forEach((marks, i) => {
      const facts = play(any(scanner), ballots(marks), profileOf(id), ['feed'])
      expect(facts.counter).toBe(rules[i] === 'accepted' ? 8 : 7)
      expect(facts.reason).toBe(rules[i] === 'accepted' ? 'none' : marks)
    })
  })
  it('casts a returned ballot as it is only by the voter’s decision', () => {
    expect(play(any(scanner), ballots('overvote'), profileOf('fern'), ['feed', 'cast-anyway'])).toMatchObject(
      { counter: 8, 'all-done': true },
    )
  })
  it('counts each ballot in exactly one place: box, auxiliary compartment or spoiled', () => {
    const s = setup({
      kind: 'scanner',
      counter: 100,
      room: 2,
      ballots: [
        { id: 'a' },
        { id: 'b', marks: 'overvote' },
        { id: 'c', jams: true },
        { id: 'd', way: 'wrong' },
        { id: 'e' },
      ],
    })
    fc.assert(
      fc.property(
        fc.constantFrom('fern', 'moss', 'reed'),
        fc.array(fc.nat(20), { maxLength: 80 }),
        (id, picks) => {
          const profile = profileOf(id)
          const m = any(scanner)
          let state = m.start(s, profile)
          for (const pick of picks) {
            const moves = m.moves(s, profile, state as never)
            state = m.apply(s, profile, state as never, moves[pick % moves.length]!)!
            const f = m.facts(s, profile, state as never) as Record<string, number>
            expect(f['in-box']! + f.auxiliary! + f.spoiled! + f.left!).toBe(5)
            expect(f.counter).toBe(100 + f['in-box']!)
          }
        },
      ),
      { numRuns: 60 },
    )
  })
  it('takes nothing without power, when full or jammed, until that is mended', () => {
    const s = setup({ kind: 'scanner', power: false, room: 0, ballots: [{ id: 'a', jams: true }] })
    const p = profileOf('fern')
    expect(play(any(scanner), s, p, ['feed']).reason).toBe('power')
    expect(play(any(scanner), s, p, ['power-on', 'feed']).reason).toBe('full')
    expect(play(any(scanner), s, p, ['power-on', 'empty-box', 'feed'])).toMatchObject({
      reason: 'jam',
      sheet: 'jammed',
    })
    expect(play(any(scanner), s, p, ['power-on', 'empty-box', 'feed', 'clear-jam', 'feed'])).toMatchObject({
      counter: 1,
      'all-done': true,
    })
  })
})

describe('the check-in table', () => {
  const s = setup({
    kind: 'check-in',
    visitor: 'rowe',
    styles: ['Style 12', 'Style 14'],
    lines: [
      { id: 'rowe', name: 'Rowe, Tamsin', address: '14 Alder Lane', style: 'Style 12', status: 'may-vote' },
      {
        id: 'rowe-t',
        name: 'Rowe, Tamara',
        address: '9 Mill Row',
        style: 'Style 14',
        status: 'already-voted',
      },
    ],
  })
  const ask = (question: string) => ({ type: 'ask', question })
  it('meets the rule by what the county asks for, and by nothing else', () => {
    const rule = (id: string, question: string) =>
      play(any(checkIn), s, profileOf(id), [ask(question)])['rule-met']
    expect([rule('fern', 'name-and-address'), rule('fern', 'photo-document')]).toEqual([true, false])
    expect([rule('reed', 'name-and-address'), rule('reed', 'photo-document')]).toEqual([false, true])
    expect([rule('moss', 'name-and-address'), rule('moss', 'party')]).toEqual([true, false])
  })
  it('knows the right card from the wrong one, and counts one that was taken back', () => {
    const take = (style: string) => ({ type: 'take-card', style })
    const p = profileOf('fern')
    expect(play(any(checkIn), s, p, [take('Style 12'), 'hand-over'])['handed-right']).toBe(true)
    expect(play(any(checkIn), s, p, [take('Style 14'), 'hand-over'])['handed-right']).toBe(false)
    expect(
      play(any(checkIn), s, p, [take('Style 14'), 'hand-over', 'take-back', take('Style 12'), 'hand-over']),
    ).toMatchObject({ 'handed-right': true, 'taken-back': 1 })
  })
})

describe('the accessible set-up', () => {
  const s = setup({ kind: 'access' })
  it('lets headset and switches into either 3.5 mm jack, and says that it is the wrong one', () => {
    const p = profileOf('fern')
    expect(play(any(access), s, p, [{ type: 'plug', device: 'headset', jack: 'switch-jack' }])).toMatchObject(
      { headset: false, 'wrong-jack': true },
    )
    expect(
      access.apply(s, p, access.start(s, p), { type: 'plug', device: 'keypad', jack: 'headset-jack' }),
    ).toBeNull()
  })
  it('offers no switches where the equipment has none', () => {
    const reed = profileOf('reed')
    expect(
      access.apply(s, reed, access.start(s, reed), { type: 'plug', device: 'switches', jack: 'switch-jack' }),
    ).toBeNull()
  })
  it('agrees with the numbers of the ADA Standards (from memory: surface 28–34, knee 27, route 36 inches)', () => {
    const p = profileOf('fern')
    const lower = (n: number) => Array.from({ length: n }, () => ({ type: 'table', by: -1 }))
    // Table 36 with knee room 25 + 4 = 29 here: 36 → 34 leaves knee room 27.
    const table = setup({ kind: 'access', tableTopIn: 36, kneeHighIn: 29 })
    expect(play(any(access), table, p, lower(1))['table-ok']).toBe(false)
    expect(play(any(access), table, p, lower(2))['table-ok']).toBe(true)
    expect(play(any(access), table, p, lower(3))['table-ok']).toBe(false)
  })
})

describe('the exit post', () => {
  const s = setup({
    kind: 'exit',
    people: [
      { id: 'rosa', name: 'Rosa Lindt', carries: 'ballot', cast: false },
      { id: 'tom', name: 'Tom Ek', carries: 'sticker', cast: true },
    ],
  })
  const send = (to: string) => ({ type: 'send', to })
  it('tells who left with a ballot and who was sent back in vain', () => {
    const p = profileOf('fern')
    expect(play(any(exit), s, p, [send('out'), send('scanner')])).toMatchObject({
      'left-with-ballot': 1,
      'sent-back-in-vain': 1,
      'all-right': false,
    })
    expect(play(any(exit), s, p, [send('scanner'), send('out')])).toMatchObject({
      'left-with-ballot': 0,
      'all-right': true,
      'all-passed': true,
    })
  })
})

describe('seals and logs', () => {
  it('reconciles by hand-worked figures: 400 − 181 − 4 − 3 − 212 = 0, and one card missing gives 1', () => {
    const counts = { received: 400, unused: 181, spoiled: 4, provisional: 3, scanned: 212 }
    expect(unaccounted(counts)).toBe(0)
    expect(unaccounted({ ...counts, scanned: 211 })).toBe(1)
    expect(unaccounted({ ...counts, scanned: 213 })).toBe(-1)
  })
  it('knows a seal that differs from its log in one digit', () => {
    const s = setup({
      kind: 'seals',
      seals: [{ id: 'box', label: 'box', logged: '0048121', onSeal: '0048127' }],
    })
    const p = profileOf('fern')
    const say = (verdict: string) => play(any(seals), s, p, [{ type: 'compare', seal: 'box', verdict }])
    expect(say('differs')).toMatchObject({ 'all-seals-right': true, 'wrong-verdicts': 0 })
    expect(say('same')).toMatchObject({ 'all-seals-right': false, 'wrong-verdicts': 1 })
  })
})

describe('every station', () => {
  const SETUPS = [
    TWO_CONTESTS,
    setup({ kind: 'scanner', ballots: [{ id: 'a' }] }),
    setup({ kind: 'access' }),
    setup({ kind: 'exit', people: [{ id: 'a', name: 'A', carries: 'ballot', cast: false }] }),
    setup({
      kind: 'seals',
      reports: [{ id: 'opening', counter: 0 }],
      counts: { received: 3, unused: 1, spoiled: 0, provisional: 0, scanned: 2 },
    }),
    setup({
      kind: 'check-in',
      visitor: null,
      styles: ['S'],
      lines: [{ id: 'a', name: 'A', address: 'B', style: 'S', status: 'may-vote' }],
    }),
  ]
  const MACHINES = [ballotMarking, scanner, access, exit, seals, checkIn].map(any)
  it('refuses nonsense, and offers only events that it names and allows', () => {
    fc.assert(
      fc.property(
        fc.nat(5),
        fc.constantFrom('fern', 'moss', 'reed'),
        fc.array(fc.nat(30), { maxLength: 30 }),
        fc.record({
          type: fc.constantFrom(
            'volume',
            'table',
            'send',
            'compare',
            'enter-difference',
            'text-size',
            'toString',
          ),
          to: fc.anything(),
          by: fc.anything(),
          value: fc.anything(),
          seal: fc.anything(),
        }),
        (i, id, picks, junk) => {
          const machine = MACHINES[i]!
          const s = SETUPS[i]!
          const profile = profileOf(id)
          let state = machine.start(s, profile)
          for (const pick of picks) {
            const moves = machine.moves(s, profile, state as never)
            if (moves.length === 0) break
            const move = moves[pick % moves.length]!
            expect(machine.events).toContain(move.type)
            const next = machine.apply(s, profile, state as never, move)
            expect(next).not.toBeNull()
            state = next!
          }
          const after = machine.apply(s, profile, state as never, junk as StationEvent)
          if (after) expect(JSON.parse(JSON.stringify(after))).toEqual(after)
        },
      ),
      { numRuns: 200 },
    )
  })
})
