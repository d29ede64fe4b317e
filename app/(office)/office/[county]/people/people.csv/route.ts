import { can } from '@/lib/auth/permissions'
import { listElections } from '@/lib/elections/queries'
import { csvList, csvResponse } from '@/lib/papers/csv'
import { languageName, readPeopleFilter } from '@/lib/people/filter'
import { listPositions } from '@/lib/people/queries'
import { listAllPeople } from '@/lib/people/queries-list'
import { recordListExport } from '@/lib/record/commands'
import { SHIFT_WORDS } from '@/lib/roster/words'
import { defineRoute } from '@/lib/web/define-route'

/** The people list as its filter shows it, all pages; personal columns only for those who may read them. */
export const GET = defineRoute<{ county: string }>(async (actor, { county }, request) => {
  const elections = await listElections(actor, county)
  const chosen = readPeopleFilter(Object.fromEntries(new URL(request.url).searchParams))
  const on = chosen.certifiedOn ?? elections.find((e) => e.daysToGo >= 0)?.heldOn
  const [people, positions] = await Promise.all([
    listAllPeople(actor, county, { ...chosen, certifiedOn: on }),
    listPositions(county),
  ])
  const nameOf = new Map(positions.map((p) => [p.key, p.nameEn]))
  const certificateName = new Map(positions.map((p) => [p.certificateKey, p.nameEn]))
  await recordListExport(actor, county, 'readPeople', { list: 'people', rows: people.length })
  return csvResponse(
    `people-${county}.csv`,
    csvList(
      [
        { name: 'County number', of: (p) => p.countyRef },
        { name: 'Last name', of: (p) => p.familyName },
        { name: 'First name', of: (p) => p.givenName },
        { name: 'Active', of: (p) => p.active },
        { name: 'Wants to work in', of: (p) => nameOf.get(p.wantsPositionKey ?? '') ?? p.wantsPositionKey },
        { name: 'Part of the day', of: (p) => SHIFT_WORDS[p.offersShift] },
        {
          name: `Certified${on ? ` on ${on}` : ''}`,
          of: (p) => p.certificates.map((key) => certificateName.get(key) ?? key).join('; '),
        },
        { name: 'Languages', of: (p) => p.languages.map(languageName).join('; ') },
        { name: 'Elections served', of: (p) => p.electionsServed },
        { name: 'E-mail', of: (p) => p.email, shown: can(actor, 'readRoster', county) },
        { name: 'Telephone', of: (p) => p.phone, shown: can(actor, 'readRoster', county) },
        { name: 'Party', of: (p) => p.party, shown: can(actor, 'readParty', county) },
        {
          name: 'Address',
          of: (p) => p.address ?? (p.addressProtected ? 'protected' : null),
          shown: can(actor, 'readHomeAddress', county),
        },
      ],
      people,
    ),
  )
})
