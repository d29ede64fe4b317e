import { describe, expect, it } from 'vitest'
import { findScenario, profilesFor } from '@/lib/scenarios/content'
import { exploreLesson } from '@/lib/scenarios/core/explore'
import { gradedView, predict } from '@/lib/scenarios/core/graded'
import { soundPath } from '@/lib/scenarios/core/range'
import { stripScenario } from '@/lib/scenarios/core/strip'
import type { PlayEvent } from '@/lib/scenarios/schema'

describe('what a browser holds in graded play with a scanner', () => {
  const { scenario } = findScenario('jam-and-full-box')!
  const profile = profilesFor(scenario)[0]!
  const stripped = stripScenario(scenario)

  it('does not tell how ballots are marked, which one jams, or when the box is full', () => {
    const before = JSON.stringify(scenario.stations)
    const after = JSON.stringify(stripped.stations)
    expect(before).toMatch(/"jams":true/)
    expect(after).not.toMatch(/"jams":true|overvote|undervote|"blank"/)
    const rooms = (text: string) => [...text.matchAll(/"room":(\d+)/g)].map((m) => Number(m[1]))
    expect(rooms(after).every((room) => room === Number.MAX_SAFE_INTEGER)).toBe(true)
    expect(rooms(before).length).toBe(rooms(after).length)
  })

  it('shows at once what a hand does, and leaves to the server what the scanner does', () => {
    const path = soundPath(exploreLesson(scenario, profile))!
    let fed = 0
    let other = 0
    for (let at = 0; at < path.length; at++) {
      const event: PlayEvent = path[at]!
      if (event.type !== 'station') continue
      const now = gradedView(scenario, profile, 'en', path.slice(0, at))
      const next = gradedView(scenario, profile, 'en', path.slice(0, at + 1))
      const guess = predict(stripped, profile, now.step, now.state, event)
      const setup = now.step.kind === 'operate' ? stripped.stations[now.step.station] : undefined
      if (setup?.kind !== 'scanner') continue
      if (event.event.type === 'feed') {
        fed++
        expect(guess).toBe(now.state)
      } else {
        other++
        if (next.step.id === now.step.id) expect(guess.stations).toEqual(next.state.stations)
      }
    }
    expect(fed).toBeGreaterThan(0)
    expect(other).toBeGreaterThan(0)
  })
})
