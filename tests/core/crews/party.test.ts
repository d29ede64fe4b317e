/** Expected values by hand from the rule "at most so many of one party in a crew". */
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { overPartyAfter, partyKey, type Sitting } from '@/lib/crews/core/party'

const at = (crew: string, workerId: string, party: string | null): Sitting => ({ crew, workerId, party })

describe('a party that counts', () => {
  it('is one whatever its spelling', () =>
    expect(['Maple', ' maple ', 'MAPLE'].map(partyKey)).toEqual(['maple', 'maple', 'maple']))
  it('is none where the list says that somebody belongs to none', () =>
    // Voter registration terms of the states, from memory.
    expect([null, '', 'Unaffiliated', 'NPA', 'No Party Preference', 'unenrolled'].map(partyKey)).toEqual(
      Array(6).fill(null),
    ))
})

describe('a change of a crew of four with at most two of one party', () => {
  const crew = [at('north', 'a', 'Maple'), at('north', 'b', 'maple'), at('north', 'c', 'unaffiliated')]
  const over = (leave: Sitting[], come: Sitting[]) => overPartyAfter(crew, () => 2, { leave, come })

  it('is told when a third of a party comes', () =>
    expect(over([], [at('north', 'd', 'Maple')])).toEqual([
      { crew: 'north', party: 'Maple', people: 3, most: 2 },
    ]))
  it('is not when one of the same goes', () =>
    expect(over([at('north', 'a', 'Maple')], [at('north', 'd', 'Maple')])).toEqual([]))
  it('is not for somebody of no party, nor for the second half of a day of somebody who is there', () => {
    expect(over([], [at('north', 'd', 'unaffiliated'), at('north', 'e', null)])).toEqual([])
    expect(over([], [at('north', 'a', 'Maple')])).toEqual([])
  })
  it('is not where the crew is over already and stays as it is', () =>
    expect(
      overPartyAfter(crew, () => 1, {
        leave: [at('north', 'a', 'Maple')],
        come: [at('north', 'd', 'Maple')],
      }),
    ).toEqual([]))

  it('law: where everybody who came goes again, nothing is told', () =>
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.constantFrom('n', 's'), fc.nat(9), fc.constantFrom('Maple', 'Oak', null))),
        fc.nat(3),
        (rows, most) => {
          // One party a person, as in a county's list.
          const party = new Map(rows.map(([, id, p]) => [id, p]))
          const sittings = rows.map(([c, id]) => at(c, `${id}`, party.get(id) ?? null))
          expect(overPartyAfter(sittings, () => most, { leave: sittings, come: sittings })).toEqual([])
        },
      ),
    ))
})
