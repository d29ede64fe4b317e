import { describe, expect, it } from 'vitest'
import { lessonsOf } from '@/lib/scenarios/core/lesson-plan'

const known = new Set(['a', 'b', 'c'])

describe('the lessons of a position', () => {
  const shipped = { lead: ['a', 'b'] }
  it.each([
    ['the county’s own choice first', { lead: ['c'] }, { lead: ['b'] }, 'county', ['c']],
    ['then the state office’s', {}, { lead: ['b'] }, 'state', ['b']],
    ['then what ships', {}, {}, 'shipped', ['a', 'b']],
    ['an empty choice is a choice', { lead: [] }, { lead: ['b'] }, 'county', []],
    ['another position’s choice does not count', { deputy: ['c'] }, {}, 'shipped', ['a', 'b']],
  ])('%s', (_what, county, state, origin, lessons) => {
    expect(lessonsOf('lead', { county, state, shipped }, known)).toEqual({ origin, lessons })
  })
  it('leaves out a lesson that is gone, and has none for an unknown position', () => {
    expect(lessonsOf('lead', { county: { lead: ['gone', 'b'] }, state: {}, shipped }, known).lessons).toEqual(
      ['b'],
    )
    expect(lessonsOf('greeter', { county: {}, state: {}, shipped }, known)).toEqual({
      origin: 'shipped',
      lessons: [],
    })
  })
})
