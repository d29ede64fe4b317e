import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { assess, MEASURES, type Measure } from '@/lib/places/core/access-survey'

/** The numbers as the reference has them, each in the part that says how it was got. */
const law = JSON.parse(readFileSync('tests/reference/law/facts.json', 'utf8')) as Record<
  'read_from_source' | 'from_memory',
  { id: string; facts: Record<string, unknown> }[]
>
const read = Object.assign(
  {},
  ...law.read_from_source.filter((f) => f.id.startsWith('ADA')).map((f) => f.facts),
)
const remembered = law.from_memory.find((f) => f.id === 'ADA2010')!.facts
const measure = (key: string): Measure => MEASURES.find((m) => m.key === key)!

describe('the access survey', () => {
  it('holds what was read against the numbers of the source', () => {
    expect(measure('steepestSlope').atMost).toBe(read.max_slope_pct)
    expect(measure('doorWidth').atLeast).toBe(read.door_clear_in)
    expect(measure('vanClearance').atLeast).toBe(read.van_vertical_clearance_in)
    // 'side >4 in with bottom >27 in above floor'
    expect(read.protruding_objects).toContain(`>${measure('protrusion').atMost} in`)
    // 2 in. of drop in 24 in.
    expect((read.max_drop_in / read.level_in) * 100).toBeCloseTo(measure('steepestSlope').atMost!, 2)
  })

  it('says of every number from memory that it is from memory', () => {
    const from: Record<string, unknown> = {
      vanSpaceWidth: remembered['502.2 van space'],
      accessAisleWidth: remembered['502.3.1 aisle'],
      routeWidth: remembered['403.5.1 route width'],
      rampWidth: remembered['405.5 ramp width'],
      rampRise: remembered['405.6 ramp rise max per run'],
      threshold: remembered['404.2.5 threshold max'],
      doorForce: remembered['309.4 operable force lbf'],
      turningCircle: remembered['304.3.1 turning circle'],
      counterHeight: remembered['904.4 service counter max'],
    }
    for (const [key, value] of Object.entries(from)) {
      expect(measure(key).atLeast ?? measure(key).atMost, key).toBe(value)
      expect(measure(key).read, key).toBe(false)
    }
    expect([measure('tableHeight').atLeast, measure('tableHeight').atMost]).toEqual(
      remembered['902.3 surface'],
    )
    const inReference = [
      ...Object.keys(from),
      'tableHeight',
      'steepestSlope',
      'doorWidth',
      'vanClearance',
      'protrusion',
    ]
    expect(MEASURES.map((m) => m.key).sort()).toEqual(inReference.sort())
  })

  it('takes the number itself as enough, and tells what was not measured', () => {
    const verdicts = new Map(
      assess({ doorWidth: 32, routeWidth: 35.9, tableHeight: 35, steepestSlope: 8.33 }).map((a) => [
        a.measure.key,
        a.verdict,
      ]),
    )
    expect(verdicts.get('doorWidth')).toBe('meets')
    expect(verdicts.get('routeWidth')).toBe('falls-short')
    expect(verdicts.get('tableHeight')).toBe('falls-short')
    expect(verdicts.get('steepestSlope')).toBe('meets')
    expect(verdicts.get('threshold')).toBe('unknown')
  })
})
