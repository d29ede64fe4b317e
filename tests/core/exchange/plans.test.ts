import { describe, expect, it } from 'vitest'
import { FIELDS, IMPORT_KINDS, mappingProblems, suggestMapping } from '@/lib/exchange/core/fields'
import { type KnownPerson, planPeople, planPeopleInSlices } from '@/lib/exchange/core/people'
import { planPlaces, readPlaces } from '@/lib/exchange/core/places'
import { readDate } from '@/lib/exchange/core/row-reader'
import { planNominations, planService, planTraining } from '@/lib/exchange/core/service'
import { readCsv } from '@/lib/exchange/read-csv'
import { civilDate } from '@/lib/kernel/dates'

const table = (text: string) => readCsv(Buffer.from(text))
const POSITIONS = [
  { key: 'lead', names: ['Precinct lead', 'Encargado'] },
  { key: 'check-in', names: ['Check-in'] },
]
const plan = (text: string, known: KnownPerson[] = []) => {
  const read = table(text)
  return planPeople(read, suggestMapping('people', read.header), { known, positions: POSITIONS, year: 2026 })
}
const errors = (problems: { severity: string; row: number; column: string | null }[]) =>
  problems.filter((p) => p.severity === 'error').map((p) => [p.row, p.column])

it('asks about a home precinct that the county doesn’t have, once it has some', () => {
  const read = table('id,first name,last name,home precinct\n1,Ana,Lee,n-7\n2,Ben,Roe,N7\n3,Cleo,Fox,\n')
  const found = (precincts: string[]) =>
    planPeople(read, suggestMapping('people', read.header), {
      known: [],
      positions: POSITIONS,
      year: 2026,
      precincts: new Set(precincts),
    })
  expect(found(['n-7']).problems.map((p) => [p.row, p.column, p.severity])).toEqual([
    [3, 'home precinct', 'warning'],
  ])
  expect(found(['n-7']).people, 'a question, no refusal').toHaveLength(3)
  expect(found([]).problems).toEqual([])
})

describe('the suggested mapping', () => {
  it('knows columns by their usual names, whatever their case and signs', () => {
    expect(
      suggestMapping('people', [
        'Poll Worker ID',
        'LAST_NAME',
        'First Name',
        'D.O.B.',
        'E-Mail',
        'Home Phone',
        'ZIP Code',
      ]),
    ).toEqual({
      countyRef: 'Poll Worker ID',
      familyName: 'LAST_NAME',
      givenName: 'First Name',
      birthYear: 'D.O.B.',
      email: 'E-Mail',
      phone: 'Home Phone',
      zip: 'ZIP Code',
    })
  })
  it('uses what somebody chose before, while the file still has that column', () => {
    const header = ['Nr', 'id', 'name']
    expect(suggestMapping('people', header, { countyRef: 'Nr' }).countyRef).toBe('Nr')
    expect(suggestMapping('people', ['id', 'name'], { countyRef: 'Nr' }).countyRef).toBe('id')
  })
  it('takes each column once', () => {
    for (const kind of IMPORT_KINDS) {
      const header = [...new Set(FIELDS[kind].flatMap((f) => f.names))]
      const columns = Object.values(suggestMapping(kind, header))
      expect(new Set(columns).size).toBe(columns.length)
    }
  })
  it('says what is missing, and in which words a column would be known', () => {
    expect(mappingProblems('people', ['name'], { fullName: 'name' })[0]!.message).toMatch(
      /county’s number.*“county number”/,
    )
    expect(mappingProblems('people', ['a'], { countyRef: 'b' })[0]!.message).toMatch(/no column “b”/)
  })
})

const HEAD = 'id,first name,last name,birth year,email,phone,languages,position,days away,lat,lon\n'

describe('the dry run of people', () => {
  it('reads what a row says, in the ways people write it', () => {
    const { people, problems } = plan(
      `${HEAD}7,José,Muñoz,6/30/1951,J@X.org,(555) 010-1234,"English, Español",precinct LEAD,"11/7/2028; 2028-11-08",42.5,-91\n`,
    )
    expect(problems).toEqual([])
    expect(people[0]!.values).toEqual({
      countyRef: '7',
      givenName: 'José',
      familyName: 'Muñoz',
      birthYear: 1951,
      email: 'j@x.org',
      phone: '(555) 010-1234',
      languages: ['en', 'es'],
      wantsPositionKey: 'lead',
      unavailableOn: ['2028-11-07', '2028-11-08'],
      homeLat: 42.5,
      homeLon: -91,
    })
  })

  it('tells new, changed and same apart by the county’s number, and the second time all is the same', () => {
    const text = `${HEAD}1,Ana,Lee,1950,,,,,,,\n2,Ben,Roe,1960,,5550101234,,,,,\n`
    const first = plan(text)
    expect(first.people.map((p) => p.action)).toEqual(['create', 'create'])
    const empty = {
      birthYear: null,
      email: null,
      phone: null,
      party: null,
      homeAddress: null,
      homeLat: null,
      homeLon: null,
      confidentialAddress: false,
      languages: [],
      accommodations: null,
      wantsPositionKey: null,
      electionsServed: 0,
      maxTravelKm: null,
      unavailableOn: [],
      offersShift: 'full',
      active: true,
      homePrecinct: null,
      student: false,
      mergedIntoId: null,
    }
    const known = first.people.map((p) => ({ ...empty, ...p.values, id: `id${p.row}` }))
    expect(plan(text, known).people.map((p) => p.action)).toEqual(['same', 'same'])
    const moved = plan(text.replace('5550101234', '5550109999').replace('Lee', 'Leigh'), known)
    expect(moved.people.map((p) => [p.action, p.fields, p.id])).toEqual([
      ['change', ['familyName'], 'id2'],
      ['change', ['phone'], 'id3'],
    ])
  })

  it('names row and column of each problem, and reads the other rows', () => {
    const { people, problems } = plan(
      `${HEAD}1,Ana,Lee,1850,,,,,,,\n2,Ben,Roe,,x@,,,,,,\n3,Cy,Poe,,,,,juggler,,,\n4,Di,Moe,,,,,,,42,\n5,Ed,Doe,,,,,,,,\n`,
    )
    expect(errors(problems)).toEqual([
      [2, 'birth year'],
      [3, 'email'],
      [4, 'position'],
      [5, 'lon'],
    ])
    expect(people.map((p) => p.row)).toEqual([6])
  })

  it('pauses again and again on a long file, and finds the same', () => {
    const rows = Array.from({ length: 3000 }, (_, i) => `#${i},Ana,Lee${i % 50},${1940 + (i % 60)}`)
    const read = table(`id,first name,last name,birth year\n${rows.join('\n')}\n`)
    const ground = { known: [], positions: POSITIONS, year: 2026 }
    const mapping = suggestMapping('people', read.header)
    const work = planPeopleInSlices(read, mapping, ground)
    let pauses = 0
    let step = work.next()
    for (; !step.done; step = work.next()) pauses++
    expect(pauses).toBeGreaterThan(5)
    expect(step.value).toEqual(planPeople(read, mapping, ground))
    expect(step.value.people).toHaveLength(3000)
  })

  it('allows people without coordinates', () => {
    expect(plan(`${HEAD}1,Ana,Lee,,,,,,,,\n`).problems).toEqual([])
  })

  it('takes a formula for a formula, and a guarded one from our own export for text', () => {
    expect(errors(plan('id,first name,last name\n1,=A1,Lee\n').problems)).toEqual([[2, 'first name']])
    expect(plan("id,first name,last name\n1,'=Zed,Lee\n").people[0]!.values.givenName).toBe('=Zed')
  })

  it('does not take an Excel zero pair for a home', () => {
    expect(errors(plan(`${HEAD}1,Ana,Lee,,,,,,,0,0\n`).problems)).toEqual([[2, 'lat']])
  })
})

describe('dates', () => {
  it.each([
    ['2028-11-07', '2028-11-07'],
    ['11/7/2028', '2028-11-07'],
    ['7-Nov-2028', '2028-11-07'],
    ['November 7, 2028', '2028-11-07'],
    ['2028-11-07T00:00:00', '2028-11-07'],
    ['2/29/2028', '2028-02-29'],
  ])('%s is %s', (text, date) => expect(readDate(text)).toBe(date))
  it.each(['2/29/2027', '31/12/2028', '11/7/28', '', 'soon', '7-Xyz-2028'])('%j is none', (text) =>
    expect(readDate(text)).toBeNull(),
  )
})

const GROUND = { places: [], precincts: [], profiles: ['fern'], defaultProfile: 'fern' }
const places = (text: string) => {
  const read = table(text)
  return planPlaces(readPlaces(read, suggestMapping('places', read.header)), GROUND)
}

describe('the dry run of places', () => {
  it('takes a row for each precinct, and the place once', () => {
    const found = places(
      'code,name,address,lat,lon,precinct,registered voters\nP1,Hall,1 Rd,42,-91,101,"1,200"\nP1,Hall,1 Rd,42,-91,102,900\n',
    )
    expect(found.problems).toEqual([])
    expect(found.places.map((p) => p.values.code)).toEqual(['P1'])
    expect(
      found.precincts.map((p) => [p.values.code, p.values.registeredVoters, p.values.placeCode]),
    ).toEqual([
      ['101', 1200, 'P1'],
      ['102', 900, 'P1'],
    ])
  })
  it('takes several precincts in one cell, and a place with voters alone as its own precinct', () => {
    expect(
      places('code,name,address,lat,lon,precincts\nP1,Hall,1 Rd,42,-91,101; 102\n').precincts,
    ).toHaveLength(2)
    const alone = places('code,name,address,lat,lon,voters\nP1,Hall,1 Rd,42,-91,1500\n').precincts
    expect(alone.map((p) => [p.values.code, p.values.registeredVoters])).toEqual([['P1', 1500]])
  })
  it('reports places without coordinates and stands them among the others', () => {
    const found = places(
      'code,name,address,lat,lon\nA,Hall,1 Rd,42,-91\nB,Barn,2 Rd,,\nC,Club,3 Rd,42.2,-91.2\n',
    )
    expect(found.problems.map((p) => [p.row, p.severity])).toEqual([[3, 'warning']])
    expect(found.places[1]!.values).toMatchObject({ located: false, lat: 42.2, lon: -91 })
    expect(errors(places('code,name,address\nA,Hall,1 Rd\n').problems)).toEqual([[2, 'Latitude']])
  })
  it('refuses rows of one place that disagree, and a precinct at two places', () => {
    expect(
      errors(
        places(
          'code,name,address,lat,lon,precinct\nP1,Hall,1 Rd,42,-91,101\nP1,Barn,1 Rd,42,-91,102\nP2,Club,2 Rd,42,-91,101\n',
        ).problems,
      ),
    ).toEqual([
      [3, 'name'],
      [4, 'precinct'],
    ])
  })
  it('warns of a place far from the others', () => {
    const found = places(
      'code,name,address,lat,lon\nA,Hall,1 Rd,42,-91\nB,Barn,2 Rd,42.1,-91\nC,Club,3 Rd,-91,42\n',
    )
    expect(found.problems.map((p) => [p.row, p.severity])).toContainEqual([4, 'error'])
    const swapped = places(
      'code,name,address,lat,lon\nA,Hall,1 Rd,42,-91\nB,Barn,2 Rd,42.1,-91\nC,Club,3 Rd,42,91\n',
    )
    expect(swapped.problems.map((p) => [p.row, p.severity])).toEqual([[4, 'warning']])
  })
})

const person = (
  id: string,
  givenName: string,
  familyName: string,
  birthYear: number | null,
  countsAs = id,
) => ({ id, countyRef: `#${id}`, givenName, familyName, birthYear, countsAs })
const PEOPLE = [
  person('a', 'Ana', 'Lee', 1950),
  person('b', 'Ben', 'Roe', 1960),
  person('b2', 'Ben', 'Roe', 1980),
  person('old', 'Anna', 'Lee', 1950, 'a'),
]
const today = civilDate('2026-06-01')

describe('the dry run of a service history', () => {
  it('takes what is new, once, for the record that counts', () => {
    const read = table(
      'id,date,position\n#a,11/5/2024,Check-in\n#old,2024-11-05,lead\n#a,2024-11-05,check-in\n#b,2022-11-08,Check-in\n',
    )
    const found = planService(read, suggestMapping('service', read.header), {
      people: PEOPLE,
      positions: POSITIONS,
      today,
      electionDays: [],
      known: new Set(['b 2022-11-08 check-in']),
    })
    expect(found.items.map((i) => [i.personId, i.servedOn, i.positionKey])).toEqual([
      ['a', '2024-11-05', 'check-in'],
      ['a', '2024-11-05', 'lead'],
    ])
    expect([found.same, found.problems.map((p) => p.severity)]).toEqual([1, ['warning']])
  })
  it('refuses strangers and days to come', () => {
    const read = table('id,date,position\n#z,11/5/2024,lead\n#a,11/5/2030,lead\n')
    expect(
      errors(
        planService(read, suggestMapping('service', read.header), {
          people: PEOPLE,
          positions: POSITIONS,
          today,
          electionDays: [],
          known: new Set(),
        }).problems,
      ),
    ).toEqual([
      [2, 'id'],
      [3, 'date'],
    ])
  })
  it('asks about a day far from every election that is kept here, and of none before the first of them', () => {
    const read = table(
      'id,date,position\n#a,2022-11-08,lead\n#a,2024-10-30,lead\n#a,2024-11-12,lead\n#a,2024-11-13,lead\n#b,2025-02-01,lead\n',
    )
    const found = planService(read, suggestMapping('service', read.header), {
      people: PEOPLE,
      positions: POSITIONS,
      today,
      // Early voting on October 26, election day on November 5: a week after it is November 12.
      electionDays: ['2024-10-26', '2024-11-05'].map(civilDate),
      known: new Set(),
    })
    expect(found.problems.map((p) => [p.row, p.column, p.severity])).toEqual([
      [5, 'date', 'warning'],
      [6, 'date', 'warning'],
    ])
    expect(found.items).toHaveLength(5)
  })
})

describe('the dry run of earlier training', () => {
  const run = (text: string, more: object = {}) => {
    const read = table(text)
    return planTraining(read, suggestMapping('training', read.header), {
      people: PEOPLE,
      positions: POSITIONS,
      certificates: new Map([
        ['lead', 'lead'],
        ['check-in', 'basic'],
      ]),
      today,
      saidBy: null,
      known: new Set(['b 2025-01-07 lead']),
      ...more,
    })
  }

  it('takes each once, for the certificate that the position asks for, with who says so', () => {
    const found = run(
      'id,position,training date,trainer\n#a,Check-in,3/4/2026,R. Hill\n#old,check-in,2026-03-04,R. Hill\n#b,lead,2025-01-07,R. Hill\n',
    )
    expect(found.items).toEqual([
      { row: 2, personId: 'a', trainedOn: '2026-03-04', certificateKey: 'basic', saidBy: 'R. Hill' },
    ])
    expect([found.same, found.problems.map((p) => p.severity)]).toEqual([1, ['warning']])
  })
  it('takes a person by name, and who says so for the whole list', () => {
    const found = run('name,position,date\n"Lee, Ana",lead,2026-03-04\n', { saidBy: 'The old list' })
    expect(found.items).toMatchObject([{ personId: 'a', saidBy: 'The old list' }])
  })
  it('refuses strangers, days to come, unknown positions and records that nobody vouches for', () => {
    const found = run(
      'id,position,date,trainer\n#z,lead,2026-03-04,R\n#a,lead,2031-03-04,R\n#a,cook,2026-03-04,R\n#a,lead,2026-03-04,\n',
    )
    expect(errors(found.problems)).toEqual([
      [2, 'id'],
      [3, 'date'],
      [4, 'position'],
      [5, 'trainer'],
    ])
    expect(found.items).toEqual([])
  })
})

describe('the dry run of a party’s list', () => {
  const ground = {
    people: PEOPLE,
    positions: POSITIONS,
    today,
    party: 'Maple',
    listedOn: civilDate('2026-05-01'),
    known: new Map(),
  }
  const lists = (text: string, more: object = {}) => {
    const read = table(text)
    return planNominations(read, suggestMapping('nominations', read.header), { ...ground, ...more })
  }
  it('finds people by name and birth year, and counts ranks by the order of the rows', () => {
    const found = lists(
      'name,birth year,position\n"Lee, Ana",,lead\nBen Roe,1980,lead\nBen Roe,1960,check-in\n',
    )
    expect(found.problems).toEqual([])
    expect(found.items.map((i) => [i.personId, i.positionKey, i.rank, i.party, i.listedOn])).toEqual([
      ['a', 'lead', 1, 'Maple', '2026-05-01'],
      ['b2', 'lead', 2, 'Maple', '2026-05-01'],
      ['b', 'check-in', 1, 'Maple', '2026-05-01'],
    ])
  })
  it('refuses a name that several have, one rank twice, and a list of no party or date', () => {
    expect(errors(lists('name,position\nBen Roe,lead\n').problems)).toEqual([[2, 'name']])
    expect(errors(lists('id,position,rank\n#a,lead,1\n#b,lead,1\n').problems)).toEqual([[3, 'rank']])
    expect(errors(lists('id,position\n#a,lead\n', { party: null }).problems)).toEqual([[2, null]])
    expect(errors(lists('id,position\n#a,lead\n', { listedOn: null }).problems)).toEqual([[2, null]])
    // Both at once, so that a file is mended once.
    expect(errors(lists('id,position\n#a,lead\n', { party: null, listedOn: null }).problems)).toEqual([
      [2, null],
      [2, null],
    ])
  })
})
