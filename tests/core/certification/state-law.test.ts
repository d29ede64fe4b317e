import { readFileSync } from 'node:fs'
import { expect, it } from 'vitest'
import { spansOf } from '@/lib/certification/core/spans-of'
import { statusOn } from '@/lib/certification/core/status'
import { todo } from '@/lib/certification/core/todo'
import type { Window } from '@/lib/certification/schema'
import { addDays, type CivilDate, civilDate } from '@/lib/kernel/dates'
import { inTwoZones } from '../kernel/two-zones'
import { election, fact, policyOf, rule } from './examples'

/** Read from the statutes: tests/reference/law/SOURCE.md. */
const law = JSON.parse(readFileSync('tests/reference/law/facts.json', 'utf8')) as {
  read_from_source: {
    id: string
    facts: Record<string, unknown>
    derived_checks?: Record<string, string>[]
  }[]
}
const source = (id: string) => law.read_from_source.find((entry) => entry.id === id)!
const general2026 = election('2026-11-03')

inTwoZones('Ariz. Rev. Stat. 16-532(A): a class not more than 45 days before the election', () => {
  const days = source('AZ-16-532').facts.class_not_more_than_days_before as number
  const policy = policyOf(rule('classAttended', 'board', { kind: 'daysBeforeElection', days }))
  const attended = (on: string) => [fact('1', 'classAttended', 'board', on)]

  it('counts from the 45th day before', () => {
    // 19 September to 3 November: 11 days of September, 31 of October, 3 of November: 45.
    expect(spansOf(policy, attended('2026-09-19'), [general2026])).toEqual([
      { from: '2026-09-19', until: '2026-11-04' },
    ])
    expect(spansOf(policy, attended('2026-09-18'), [general2026])).toEqual([])
    expect(spansOf(policy, attended('2026-11-03'), [general2026])).toEqual([
      { from: '2026-11-03', until: '2026-11-04' },
    ])
    expect(spansOf(policy, attended('2026-11-04'), [general2026])).toEqual([])
  })

  it('says from when a class would count', () => {
    const status = statusOn(policy, attended('2026-09-18'), [general2026], civilDate('2026-09-18'))
    expect(status.valid).toBe(false)
    expect(!status.valid && status.earliestOn).toBe('2026-09-19')
    expect(status.why).toMatchObject({ reason: 'outsideElectionTime' })
    expect(todo(policy, [], [general2026], general2026.heldOn)).toMatchObject([
      { doFrom: '2026-09-19', doBy: '2026-11-03', possible: true, reason: 'missing' },
    ])
  })

  it('counts for a primary without counting for the general election', () => {
    const primary = election('2026-08-04')
    const spans = spansOf(policy, attended('2026-07-20'), [general2026, primary])
    expect(spans).toEqual([{ from: '2026-07-20', until: '2026-08-05' }])
  })
})

inTwoZones('Ariz. Rev. Stat. 16-532(D): no new training for 30 months', () => {
  const months = source('AZ-16-532').facts.premium_no_retraining_for_months as number
  const policy = policyOf(rule('classAttended', 'premium', { kind: 'months', months }))

  it('ends on the dates worked out in the reference', () => {
    for (const check of source('AZ-16-532').derived_checks!)
      expect(spansOf(policy, [fact('1', 'classAttended', 'premium', check.certified!)], [])).toEqual([
        { from: check.certified, until: check.first_retrain_date ?? check.first_retrain_date_constrain },
      ])
  })

  it('ends at the end of February when certified on 31 August', () => {
    const spans = spansOf(policy, [fact('1', 'classAttended', 'premium', '2021-08-31')], [])
    // 30 months after August 2021 is February 2024, a leap year: its last day is the 29th.
    expect(spans).toEqual([{ from: '2021-08-31', until: '2024-02-29' }])
  })
})

inTwoZones('Fla. Stat. 102.014: training before each election; for a vacancy, within two years', () => {
  const primary = election('2026-08-18', 'primary')
  const general = election('2026-11-03', 'general')

  it('asks for a class for each election', () => {
    const policy = policyOf(rule('classAttended', 'inspector', { kind: 'sameElection' }))
    const facts = [fact('1', 'classAttended', 'inspector', '2026-07-30', { electionId: 'primary' })]
    expect(spansOf(policy, facts, [primary, general])).toEqual([{ from: '2026-07-30', until: '2026-08-19' }])
    expect(statusOn(policy, facts, [primary, general], general.heldOn)).toMatchObject({
      valid: false,
      lapsedOn: '2026-08-19',
    })
  })

  it('takes training of the 24 months before the election, its first day included', () => {
    const policy = policyOf(rule('classAttended', 'inspector', { kind: 'monthsBeforeElection', months: 24 }))
    const trained = (on: string) => [fact('1', 'classAttended', 'inspector', on)]
    expect(spansOf(policy, trained('2024-11-03'), [general])).toEqual([
      { from: '2024-11-03', until: '2026-11-04' },
    ])
    expect(spansOf(policy, trained('2024-11-02'), [general])).toEqual([])
  })
})

inTwoZones('Minn. R. 8240.2700, .2900: to the end of a cycle', () => {
  const cycle = { cycleStartsOn: civilDate('2024-01-01'), cycleMonths: 24 }
  const windows: Record<string, Window> = {
    municipal_clerk: { kind: 'untilEndOfNextCycle', ...cycle },
    county_auditor: { kind: 'afterCycle', ...cycle, plusMonths: 12 },
  }

  it('ends on the dates worked out in the reference', () => {
    const checks = source('MN-R8240').derived_checks!
    expect(checks.length).toBe(6)
    for (const check of checks) {
      const policy = policyOf(rule('classAttended', 'course', windows[check.role!]!))
      // The reference names the last valid day; spans end on the day after.
      expect(spansOf(policy, [fact('1', 'classAttended', 'course', check.issued!)], [])).toEqual([
        { from: check.issued, until: addDays(check.valid_until as CivilDate, 1) },
      ])
    }
  })

  it('finds the cycle from an anchor on either side', () => {
    for (const anchor of ['1992-01-01', '2060-01-01']) {
      const window: Window = {
        kind: 'untilEndOfNextCycle',
        cycleStartsOn: civilDate(anchor),
        cycleMonths: 24,
      }
      const spans = spansOf(
        policyOf(rule('classAttended', 'course', window)),
        [fact('1', 'classAttended', 'course', '2025-12-31')],
        [],
      )
      expect(spans).toEqual([{ from: '2025-12-31', until: '2028-01-01' }])
    }
  })
})

inTwoZones('leap days', () => {
  it('a check-off of 29 February lasts 24 months to 28 February, so not on that day', () => {
    const policy = policyOf(rule('checkOff', 'cards', { kind: 'months', months: 24 }))
    const done = [fact('1', 'checkOff', 'cards', '2024-02-29')]
    expect(spansOf(policy, done, [])).toEqual([{ from: '2024-02-29', until: '2026-02-28' }])
    expect(statusOn(policy, done, [], civilDate('2026-02-27')).valid).toBe(true)
    expect(statusOn(policy, done, [], civilDate('2026-02-28')).valid).toBe(false)
  })

  it('48 months run from leap day to leap day', () => {
    const policy = policyOf(rule('checkOff', 'cards', { kind: 'months', months: 48 }))
    expect(spansOf(policy, [fact('1', 'checkOff', 'cards', '2024-02-29')], [])).toEqual([
      { from: '2024-02-29', until: '2028-02-29' },
    ])
  })
})
