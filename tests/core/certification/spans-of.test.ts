import * as fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { spansOf } from '@/lib/certification/core/spans-of'
import { statusOn } from '@/lib/certification/core/status'
import { todo } from '@/lib/certification/core/todo'
import type {
  ElectionDate,
  EvidenceRule,
  Fact,
  Policy,
  Requirement,
  Window,
} from '@/lib/certification/schema'
import { addDays, addMonths, type CivilDate, civilDate, daysBetween } from '@/lib/kernel/dates'
import { holdsOn } from '@/lib/kernel/spans'
import { fact, policyOf, rule } from './examples'

/** Three years, day by day. */
const DAYS: CivilDate[] = Array.from({ length: 1096 }, (_, i) => addDays(civilDate('2024-01-01'), i))
const day = fc.nat(DAYS.length - 1).map((i) => DAYS[i]!)
const PROFILES = ['alder', 'birch', 'cedar']
const TOPICS = ['a', 'b']

const window: fc.Arbitrary<Window> = fc.oneof(
  fc.constant<Window>({ kind: 'always' }),
  fc.integer({ min: 1, max: 18 }).map((months): Window => ({ kind: 'months', months })),
  day.map((until): Window => ({ kind: 'fixedDate', until })),
  fc.integer({ min: 0, max: 90 }).map((days): Window => ({ kind: 'daysBeforeElection', days })),
  fc.integer({ min: 1, max: 9 }).map((months): Window => ({ kind: 'monthsBeforeElection', months })),
  fc.constant<Window>({ kind: 'sameElection' }),
  fc.constant<Window>({
    kind: 'untilEndOfNextCycle',
    cycleStartsOn: civilDate('2020-01-31'),
    cycleMonths: 7,
  }),
  fc.constant<Window>({
    kind: 'afterCycle',
    cycleStartsOn: civilDate('2030-01-15'),
    cycleMonths: 6,
    plusMonths: 2,
  }),
)
const evidence: fc.Arbitrary<EvidenceRule> = fc
  .record({
    fact: fc.constantFrom('checkOff' as const, 'quizPassed' as const),
    topic: fc.constantFrom(...TOPICS),
    window,
    minScoreFraction: fc.option(fc.constantFrom(0.6, 0.8), { nil: undefined }),
    equipment: fc.option(
      fc.oneof(
        fc.constant({ kind: 'inUse' as const }),
        fc.constantFrom(...PROFILES).map((profile) => ({ kind: 'profile' as const, profile })),
      ),
      { nil: undefined },
    ),
  })
  .map((r) => ({ kind: 'evidence' as const, ...r }))
const requirement: fc.Arbitrary<Requirement> = fc.letrec<{ tree: Requirement }>((tie) => ({
  tree: fc.oneof(
    { maxDepth: 3, depthSize: 'small', withCrossShrink: true },
    evidence,
    fc.array(tie('tree'), { minLength: 1, maxLength: 3 }).map((of) => ({ kind: 'all' as const, of })),
    fc.array(tie('tree'), { minLength: 1, maxLength: 3 }).map((of) => ({ kind: 'any' as const, of })),
    fc
      .array(tie('tree'), { minLength: 2, maxLength: 3 })
      .map((of) => ({ kind: 'atLeast' as const, count: 2, of })),
  ),
})).tree

const elections: fc.Arbitrary<ElectionDate[]> = fc
  .array(day, { maxLength: 3 })
  .map((days) => days.map((heldOn, i) => ({ id: `e${i}`, heldOn })))

const deeds: fc.Arbitrary<Fact[]> = fc
  .array(
    fc.record({
      kind: fc.constantFrom('checkOff' as const, 'quizPassed' as const),
      topic: fc.constantFrom(...TOPICS),
      on: day,
      scoreFraction: fc.constantFrom(null, 0.5, 0.7, 0.9),
      equipmentProfile: fc.constantFrom(null, ...PROFILES),
      electionId: fc.constantFrom(null, 'e0', 'e1', 'e2'),
      revokedOn: fc.option(day, { freq: 3, nil: null }),
      reinstatedOn: fc.option(day, { freq: 2, nil: null }),
    }),
    { maxLength: 6 },
  )
  .map((rows) =>
    rows.flatMap(({ revokedOn, reinstatedOn, ...row }, i): Fact[] => [
      { id: `f${i}`, ...row },
      ...(revokedOn ? [fact(`r${i}`, 'revocation', 'mistake', revokedOn, { revokes: `f${i}` })] : []),
      ...(revokedOn && reinstatedOn
        ? [fact(`u${i}`, 'revocation', 'undone', reinstatedOn, { revokes: `r${i}` })]
        : []),
    ]),
  )
/** Facts, and now and then the certificate taken away, and given back. */
const facts: fc.Arbitrary<Fact[]> = fc
  .tuple(deeds, fc.option(day, { freq: 2, nil: null }), fc.option(day, { freq: 2, nil: null }))
  .map(([all, takenOn, backOn]) => [
    ...all,
    ...(takenOn ? [fact('c', 'certificateRevoked', 'tested', takenOn)] : []),
    ...(takenOn && backOn ? [fact('b', 'revocation', 'given back', backOn, { revokes: 'c' })] : []),
  ])

const policy = fc
  .record({
    requirements: fc.array(fc.tuple(requirement, day, fc.option(day, { nil: null, freq: 3 })), {
      minLength: 1,
      maxLength: 2,
    }),
    changes: fc.array(
      fc.record({
        from: day,
        profile: fc.constantFrom(...PROFILES),
        replaces: fc.constantFrom(null, ...PROFILES),
        topics: fc.constantFrom<string[] | null>(null, ['a']),
      }),
      { maxLength: 2 },
    ),
  })
  .filter(({ changes }) => new Set(changes.map((c) => c.from)).size === changes.length)
  .map(
    ({ requirements, changes }): Policy => ({
      ...policyOf(requirements[0]![0]),
      ruleSets: requirements.map(([tree, from, until], i) => ({
        certificateKey: 'tested',
        version: i + 1,
        effectiveFrom: i === 0 ? civilDate('2024-01-01') : from,
        effectiveUntil: until !== null && until > from ? until : null,
        requirement: tree,
        citation: 'test',
      })),
      equipmentChanges: changes,
    }),
  )

/** The rules read as prose, asked of one day: no interval anywhere. */
function heldOnDay(p: Policy, all: readonly Fact[], held: readonly ElectionDate[], d: CivilDate): boolean {
  const version = [...p.ruleSets]
    .filter((r) => r.effectiveFrom <= d)
    .sort((a, b) =>
      a.effectiveFrom === b.effectiveFrom
        ? a.version - b.version
        : a.effectiveFrom < b.effectiveFrom
          ? -1
          : 1,
    )
    .at(-1)
  if (!version || (version.effectiveUntil != null && version.effectiveUntil <= d)) return false
  const revoked = (id: string): boolean => all.some((r) => r.revokes === id && r.on <= d && !revoked(r.id))
  const taken = (f: Fact): boolean =>
    all.some(
      (c) =>
        c.kind === 'certificateRevoked' &&
        c.topic === p.certificateKey &&
        f.on <= c.on &&
        c.on <= d &&
        !revoked(c.id),
    )
  const inWindow = (w: Window, f: Fact): boolean => {
    switch (w.kind) {
      case 'always':
        return true
      case 'months':
        return d < addMonths(f.on, w.months)
      case 'fixedDate':
        return d < w.until
      case 'daysBeforeElection':
        return held.some((e) => d <= e.heldOn && f.on <= e.heldOn && daysBetween(f.on, e.heldOn) <= w.days)
      case 'monthsBeforeElection':
        return held.some((e) => d <= e.heldOn && f.on <= e.heldOn && addMonths(e.heldOn, -w.months) <= f.on)
      case 'sameElection':
        return held.some((e) => e.id === f.electionId && f.on <= e.heldOn && d <= e.heldOn)
      default: {
        // Walk the cycles one by one from far back.
        let k = -400
        while (addMonths(w.cycleStartsOn, (k + 1) * w.cycleMonths) <= f.on) k++
        return w.kind === 'afterCycle'
          ? d < addMonths(addMonths(w.cycleStartsOn, (k + 1) * w.cycleMonths), w.plusMonths)
          : d < addMonths(w.cycleStartsOn, (k + 2) * w.cycleMonths)
      }
    }
  }
  const equipmentGood = (r: EvidenceRule, f: Fact): boolean => {
    if (!r.equipment) return true
    const mine = f.equipmentProfile
    if (mine == null || (r.equipment.kind === 'profile' && r.equipment.profile !== mine)) return false
    let inUse = true
    let counts = true
    const changes = p.equipmentChanges
      .filter((c) => c.topics == null || c.topics.includes(f.topic))
      .sort((a, b) => (a.from < b.from ? -1 : 1))
    for (const c of changes) {
      const replaced = c.replaces == null ? c.profile !== mine : c.replaces === mine
      if (c.from <= f.on) {
        if (c.profile === mine) inUse = true
        else if (replaced) inUse = false
      } else if (c.from <= d && replaced) counts = false
    }
    return inUse && counts
  }
  const holds = (r: Requirement): boolean =>
    r.kind === 'all'
      ? r.of.every(holds)
      : r.kind === 'any'
        ? r.of.some(holds)
        : r.kind === 'atLeast'
          ? r.of.filter(holds).length >= r.count
          : all.some(
              (f) =>
                f.kind === r.fact &&
                f.topic === r.topic &&
                f.on <= d &&
                !revoked(f.id) &&
                !taken(f) &&
                (r.minScoreFraction === undefined || (f.scoreFraction ?? 0) >= r.minScoreFraction) &&
                inWindow(r.window, f) &&
                equipmentGood(r, f),
            )
  return holds(version.requirement)
}

const leavesOf = (r: Requirement): EvidenceRule[] => (r.kind === 'evidence' ? [r] : r.of.flatMap(leavesOf))
const runs = process.env.TEST_FULL === '1' ? 600 : 80
const MINUTES = 60_000

describe('spans of any policy and facts', () => {
  it(
    'agree with the rules read day by day over three years',
    () => {
      fc.assert(
        fc.property(policy, facts, elections, (p, f, e) => {
          const spans = spansOf(p, f, e)
          for (let i = 0; i < DAYS.length; i += 11) {
            const d = DAYS[i]!
            if (holdsOn(spans, d) !== heldOnDay(p, f, e, d))
              throw new Error(`differs on ${d}: ${JSON.stringify(spans)}`)
          }
          // The turning points themselves, where an error of one day would show.
          for (const s of spans)
            for (const d of [
              s.from,
              addDays(s.from, -1),
              ...(s.until ? [s.until, addDays(s.until, -1)] : []),
            ])
              if (d >= DAYS[0]! && d <= DAYS.at(-1)!) expect(holdsOn(spans, d)).toBe(heldOnDay(p, f, e, d))
        }),
        { numRuns: runs },
      )
    },
    5 * MINUTES,
  )

  it('don’t change with the order of the facts', () => {
    fc.assert(
      fc.property(policy, facts, elections, fc.nat(), (p, f, e, turn) => {
        const turned = [...f.slice(turn % (f.length || 1)), ...f.slice(0, turn % (f.length || 1))].reverse()
        expect(spansOf(p, turned, e)).toEqual(spansOf(p, f, e))
      }),
      { numRuns: runs },
    )
  })
})

describe('status on any day', () => {
  it('agrees with the spans, the tree of reasons and the list of what is missing', () => {
    fc.assert(
      fc.property(policy, facts, elections, day, (p, f, e, d) => {
        const spans = spansOf(p, f, e)
        const status = statusOn(p, f, e, d)
        expect(status.valid).toBe(holdsOn(spans, d))
        expect(status.why?.holds ?? false).toBe(status.valid)
        const missing = todo(p, f, e, d)
        if (status.why) expect(missing.length === 0).toBe(status.valid)
        if (status.valid) expect(spans).toContainEqual({ from: status.from, until: status.until })
      }),
      { numRuns: runs * 2 },
    )
  })

  /** Everything that the rules ask for, done on one day in every way that could count. */
  const doneOn = (p: Policy, e: readonly ElectionDate[], d: CivilDate): Fact[] =>
    p.ruleSets.flatMap((r) =>
      leavesOf(r.requirement).flatMap((leaf, i) =>
        (leaf.equipment?.kind === 'profile'
          ? [leaf.equipment.profile]
          : leaf.equipment
            ? PROFILES
            : [null]
        ).flatMap((profile) =>
          (leaf.window.kind === 'sameElection' ? e.map((x) => x.id) : [null]).map((electionId) =>
            fact(`new ${r.version} ${i} ${profile} ${electionId} ${d}`, leaf.fact, leaf.topic, d, {
              scoreFraction: 1,
              equipmentProfile: profile,
              electionId,
            }),
          ),
        ),
      ),
    )

  it(
    'names the earliest possible day: what a person who does everything daily would reach',
    () => {
      const horizon = 30
      fc.assert(
        fc.property(policy, facts, elections, day, fc.nat(60), (p, f, e, anyDay, before) => {
          // Mostly in the weeks before an election or in the days about a withdrawal, where windows open and close.
          const taken = f.find((x) => x.kind === 'certificateRevoked')
          const d =
            taken && before % 3 === 0
              ? addDays(taken.on, 2 - (before % 5))
              : e[0]
                ? addDays(e[0].heldOn, -before)
                : anyDay
          const status = statusOn(p, f, e, d)
          if (status.valid) return
          const claimed = status.earliestOn
          const done: Fact[] = [...f]
          for (let i = 0, on = d; i < horizon; i++, on = addDays(on, 1)) {
            done.push(...doneOn(p, e, on))
            const reached = holdsOn(spansOf(p, done, e), on)
            if (reached !== (on === claimed)) throw new Error(`${on}: reached ${reached}, claimed ${claimed}`)
            if (reached) return
          }
          expect(claimed === null || claimed >= addDays(d, horizon)).toBe(true)
        }),
        { numRuns: runs },
      )
    },
    5 * MINUTES,
  )

  it('names the first evidence date that still counts on the day', () => {
    fc.assert(
      fc.property(window, elections, day, fc.option(fc.nat(9)), (w, e, d, takenBefore) => {
        const p = policyOf(rule('quizPassed', 'a', w))
        const taken =
          takenBefore === null
            ? []
            : [fact('t', 'certificateRevoked', p.certificateKey, addDays(d, 3 - takenBefore))]
        const [item] = todo(p, taken, e, d)
        const countsFrom = (on: CivilDate) =>
          [null, ...e.map((x) => x.id)].some((electionId) =>
            holdsOn(spansOf(p, [...taken, fact('x', 'quizPassed', 'a', on, { electionId })], e), d),
          )
        expect(countsFrom(item!.doBy)).toBe(item!.possible)
        if (!item!.possible) return
        if (item!.doFrom === null) {
          expect(countsFrom(civilDate('1950-06-15'))).toBe(true)
          return
        }
        expect(countsFrom(item!.doFrom)).toBe(true)
        expect(countsFrom(addDays(item!.doFrom, -1))).toBe(false)
      }),
      { numRuns: runs * 4 },
    )
  })
})
