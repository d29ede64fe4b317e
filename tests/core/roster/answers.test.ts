import { beforeAll, describe, expect, it } from 'vitest'
import { runInThread } from '@/lib/jobs/thread'
import { explainEmptySeats, explainSeat } from '@/lib/roster/core/explain'
import { explainPerson } from '@/lib/roster/core/explain-person'
import { type Prepared, prepareRoster } from '@/lib/roster/core/prepared'
import type { SolveProgress } from '@/lib/roster/core/progress'
import { repair } from '@/lib/roster/core/repair'
import { solveRoster } from '@/lib/roster/core/solve'
import { repairMany } from '@/lib/roster/core/storm'
import { trainingPlan } from '@/lib/roster/core/training'
import { evaluateRoster, verifyRoster, waysToServe } from '@/lib/roster/core/verify'
import { loadMipSolver } from '@/lib/roster/mip'
import { RosterInstance, type RosterInstanceInput, type RosterResult } from '@/lib/roster/schema'
import { county } from './county'

const DAY = '2028-11-07'
const spans = [{ from: '2028-01-01', until: null }]
const certificate = (key: string) => ({ key, spans })
const make = (input: unknown) => RosterInstance.parse(input as RosterInstanceInput)

// 10 places with 10 lead and 10 deputy seats, about 9 people certified for them: short on purpose.
const short = county({ places: 10, people: 90, seed: 21, leadShare: 0.1 })
let result: RosterResult
let prepared: Prepared
beforeAll(() => {
  result = solveRoster(short, { workLimit: 0.5 })
  prepared = prepareRoster(short, result)
})

describe('why a seat is empty', () => {
  it('names for each empty seat a group of seats with fewer people than seats, all of them eligible nowhere else in it', () => {
    const explanations = [...explainEmptySeats(prepared)]
    expect(explanations.length).toBe(result.empty.length)
    expect(explanations.length).toBeGreaterThan(0)
    for (const e of explanations) {
      expect(e.reason).toBe('too-few-people')
      expect(e.people.length).toBeLessThan(e.seats.length)
      // The witness by the checker's reading: nobody outside the named people may take any named seat.
      const named = new Set(e.people)
      for (const seatId of e.seats)
        for (const p of short.people)
          if (waysToServe(short, p.id, seatId) > 0) expect(named.has(p.id)).toBe(true)
    }
  })

  it('is told alike for one seat, by a walk, and for all, by the parts of the county', () => {
    for (const seed of [1, 2, 3, 4]) {
      const instance = county({ places: 12, people: 75, seed, leadShare: 0.2, halfShare: seed % 2 ? 0.2 : 0 })
      const own = prepareRoster(instance, solveRoster(instance, { workLimit: 0.2 }))
      const sorted = ({ seats, people, ...e }: ReturnType<typeof explainSeat>) => ({
        ...e,
        seats: seats.toSorted(),
        people: people.toSorted(),
      })
      const all = [...explainEmptySeats(own)]
      expect(all.length).toBeGreaterThan(0)
      for (const e of all) expect(sorted(explainSeat(own, e.seatId))).toEqual(sorted(e))
    }
  })

  it('tells apart nobody certified, nobody eligible, a hard balance and locks', () => {
    const places = [{ id: 'hall', at: [41, -92] }]
    const seat = (id: string, key: string) => ({
      id,
      placeId: 'hall',
      position: key,
      certificate: key,
      date: DAY,
    })
    const person = (id: string, key: string, extra = {}) => ({
      id,
      at: [41, -92],
      certificates: [certificate(key)],
      ...extra,
    })
    const why = (input: object, seatId: string) => {
      const instance = make({ places, ...input })
      return explainSeat(prepareRoster(instance, solveRoster(instance)), seatId)
    }
    expect(why({ seats: [seat('s', 'lead')], people: [person('a', 'clerk')] }, 's').reason).toBe(
      'nobody-certified',
    )
    const barred = why(
      { seats: [seat('s', 'lead')], people: [person('a', 'lead', { excludedPlaces: ['hall'] })] },
      's',
    )
    expect([barred.reason, barred.refused]).toEqual(['nobody-eligible', { 'excluded-place': 1 }])
    const hard = why(
      {
        seats: [seat('s', 'lead'), seat('t', 'lead')],
        people: [person('a', 'lead', { party: 'Elm' }), person('b', 'lead', { party: 'Elm' })],
        rules: { balance: { parties: ['Elm', 'Oak'], maxDifference: 1, mode: 'hard' } },
      },
      't',
    )
    expect(['hard-balance', 'filled']).toContain(hard.reason)
    // a can do both seats, b only the clerk's; a is locked into the clerk's seat, so the lead's stays empty.
    const locks = why(
      {
        seats: [seat('s', 'lead'), seat('t', 'clerk')],
        people: [
          { id: 'a', at: [41, -92], certificates: [certificate('lead'), certificate('clerk')] },
          person('b', 'clerk'),
        ],
        locks: [{ seatId: 't', personId: 'a' }],
      },
      's',
    )
    expect(locks.reason).toBe('locks')
    expect(locks.chain).toEqual([
      { personId: 'a', seatId: 's' },
      { personId: 'b', seatId: 't' },
    ])
  })

  it('says of a person whether placed, not needed or not eligible, and what asking for a place would change', () => {
    const seated = new Set(result.seatings.map((s) => s.personId))
    const free = short.people.find((p) => !seated.has(p.id))!
    expect(['no-seat-left', 'not-eligible']).toContain(explainPerson(prepared, free.id).reason)
    const placed = result.seatings[5]!
    expect(explainPerson(prepared, placed.personId).seated).toEqual([
      { seatId: placed.seatId, locked: false },
    ])
    const wish = {
      ...short,
      people: short.people.map((p) => (p.id === placed.personId ? { ...p, preferredPlaces: ['p3'] } : p)),
    }
    const answer = explainPerson(prepareRoster(wish, result), placed.personId).asked[0]!
    expect(['here', 'exchange', 'no-exchange', 'not-eligible']).toContain(answer.outcome)
  })
})

describe('the training plan', () => {
  it('closes the shortage with one training a seat, each needed, checked by solving again', () => {
    const plan = trainingPlan(short, result)
    expect(plan.verified).toBe(true)
    const total = (xs: number[]) => xs.reduce((a, b) => a + b, 0)
    // One more seat needs at least one more training, so as many trainings as seats gained is the fewest.
    expect(plan.entries.length).toBe(total(plan.after) - total(plan.before))
    expect(total(plan.after)).toBe(short.seats.length - plan.beyondTraining.length)
    for (const entry of plan.entries) {
      const without = {
        ...short,
        people: short.people.map((p) => {
          const extra = plan.entries
            .filter((e) => e.personId === p.id && e !== entry)
            .map((e) => certificate(e.certificate))
          return { ...p, certificates: [...p.certificates, ...extra] }
        }),
      }
      const lost =
        total(plan.after) -
        total(solveRoster(without as RosterInstance, { workLimit: 0, searchNodes: 0 }).levels[0]!.value)
      expect(lost).toBe(1)
    }
  })

  it('keeps to a number of training places and fills lead seats first', () => {
    const plan = trainingPlan(short, result, { places: 2 })
    expect(plan.entries.length).toBe(2)
    expect(plan.verified).toBe(true)
    const leadShort = result.classes[0]!.seats - result.levels[0]!.value[0]!
    expect(plan.after[0]! - plan.before[0]!).toBe(Math.min(2, leadShort))
  })
})

describe('repair', () => {
  it('ranks options for a call-out, each of which gives a sound roster with the stated change', () => {
    const full = county({ places: 12, people: 140, seed: 31 })
    const solved = solveRoster(full, { workLimit: 0.3 })
    const before = prepareRoster(full, solved)
    for (const seating of solved.seatings.slice(0, 84).filter((_, i) => i % 12 === 0)) {
      const [answer] = repair(before, { personId: seating.personId })
      expect(answer!.seatId).toBe(seating.seatId)
      expect(answer!.options.length).toBeGreaterThan(0)
      for (const option of answer!.options) {
        expect(option.moves.length).toBeLessThanOrEqual(3)
        expect(option.disturbed).toBe(option.moves.length - 1)
        const to = new Map(option.moves.map((m) => [m.toSeatId, m.personId]))
        const after = solved.seatings.map((s) => ({ ...s, personId: to.get(s.seatId) ?? s.personId }))
        const { values, problems } = evaluateRoster(full, after)
        expect(problems).toEqual([])
        expect(values.violations - solved.levels[1]!.value[0]!).toBe(option.violations)
        expect(values.cost - solved.levels[2]!.value[0]!).toBe(option.metres)
      }
    }
  })

  it('takes somebody from a later seat where nobody is free, and says which seat stays empty', () => {
    const few = county({ places: 14, people: 90, seed: 45 })
    const solved = solveRoster(few, { workLimit: 0.2 })
    const before = prepareRoster(few, solved)
    const seats = new Map(few.seats.map((s) => [s.id, s]))
    const RANK = { lead: 0, minimum: 1, rest: 2 }
    const { violations, cost } = evaluateRoster(few, solved.seatings).values
    let emptied = 0
    for (const { seatId, personId } of solved.seatings) {
      const { tier } = seats.get(seatId)!
      const { options } = repair(before, { personId })[0]!
      // Outside value: everybody who may take the seat and sits in a later one, by the checker's reading.
      const later = solved.seatings.filter(
        (s) =>
          RANK[seats.get(s.seatId)!.tier] > RANK[tier] && (waysToServe(few, s.personId, seatId) & 1) !== 0,
      )
      if (later.length > 0) expect(options.length, seatId).toBeGreaterThan(0)
      for (const option of options) {
        const to = new Map(option.moves.map((m) => [m.toSeatId, m.personId]))
        const after = solved.seatings
          .filter((s) => s.seatId !== option.leavesEmpty)
          .map((s) => ({ ...s, personId: to.get(s.seatId) ?? s.personId }))
        const { values, problems } = evaluateRoster(few, after)
        expect(problems).toEqual([])
        expect(after.some((s) => s.personId === personId)).toBe(false)
        expect(values.violations - violations).toBe(option.violations)
        expect(values.cost - cost).toBe(option.metres)
        expect(option.moves.length).toBeLessThanOrEqual(3)
        if (option.leavesEmpty === null) continue
        emptied++
        expect(RANK[seats.get(option.leavesEmpty)!.tier]).toBeGreaterThan(RANK[tier])
      }
      const ends = options.map((o) => o.leavesEmpty !== null)
      expect(ends, 'free people first').toEqual([...ends].sort())
    }
    expect(emptied).toBeGreaterThan(50)
  })

  it('mends a storm: nobody called out is seated, and as many seats are filled as solving afresh fills', () => {
    const full = county({ places: 15, people: 120, seed: 41, rules: false, leadShare: 0.3 })
    const solved = solveRoster(full)
    const gone = full.people.filter((_, i) => i % 8 === 0).map((p) => p.id)
    const before = prepareRoster(full, solved)
    const mended = repairMany(before, gone)
    // The roster it started from is as it was, nobody locked.
    expect(before.model.unitLocked.some((locked) => locked === 1)).toBe(false)
    expect(before.state.cost()).toBe(solved.levels[2]!.value[0])
    const rest = {
      ...full,
      people: full.people.map((p) => (gone.includes(p.id) ? { ...p, excluded: true } : p)),
    }
    const { values, problems } = evaluateRoster(rest, mended.seatings)
    expect(problems).toEqual([])
    expect(values.seats).toEqual(solveRoster(rest).levels[0]!.value)
    expect(values.cost).toBe(mended.cost)
  })

  it('gives up the last seats where people are short over the whole county', () => {
    // People are fewer than seats before anybody calls out: as many seats of each class as a fresh solve fills.
    const county45 = county({ places: 14, people: 90, seed: 45 })
    const solved = solveRoster(county45, { workLimit: 0 })
    expect(solved.empty.length).toBeGreaterThan(0)
    for (const every of [3, 7, 11]) {
      const gone = solved.seatings.filter((_, i) => i % every === 0).map((s) => s.personId)
      const mended = repairMany(prepareRoster(county45, solved), gone)
      const rest = {
        ...county45,
        people: county45.people.map((p) => (gone.includes(p.id) ? { ...p, excluded: true } : p)),
      }
      const { values, problems } = evaluateRoster(rest, mended.seatings)
      expect(problems).toEqual([])
      expect(values.seats).toEqual(solveRoster(rest, { workLimit: 0 }).levels[0]!.value)
    }
  })
})

describe('the thread', () => {
  const entry = new URL('../../../lib/roster/thread-entry.ts', import.meta.url)
  const inThread = (
    instance: RosterInstance,
    options: object,
    onProgress: (p: SolveProgress) => void,
    signal = new AbortController().signal,
  ) =>
    runInThread<RosterResult, SolveProgress>(
      entry,
      { instance, options },
      { onProgress, signal, graceMs: 120_000 },
    )

  it('gives the same result as the call in place, with progress', async () => {
    const instance = county({ places: 5, people: 45, seed: 51 })
    const stages = new Set<string>()
    const threaded = await inThread(instance, { seed: 7 }, (p) => stages.add(p.stage))
    expect(threaded.seconds).toBeGreaterThan(0)
    const here = solveRoster(instance, { seed: 7, mip: loadMipSolver() })
    expect({ ...threaded, seconds: null }).toEqual(here)
    expect(stages.has('least-cost')).toBe(true)
    expect(verifyRoster(instance, threaded).problems).toEqual([])
  })

  it('hands over the best so far when cancelled, and refuses a contradicting instance by name', async () => {
    const instance = county({ places: 20, people: 200, seed: 52 })
    const stop = new AbortController()
    const best = await inThread(
      instance,
      { workLimit: 50 },
      (p) => p.stage === 'improving' && stop.abort(),
      stop.signal,
    )
    expect(best.status).toBe('interrupted')
    expect(verifyRoster(instance, best).problems).toEqual([])
    const twice = { ...instance, people: [...instance.people, instance.people[0]!] }
    await expect(inThread(twice, {}, () => {})).rejects.toThrow('RangeError: person id "w0" appears twice')
  })
})
