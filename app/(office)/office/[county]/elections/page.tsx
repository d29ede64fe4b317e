import { ActionForm, Choice, Field, Tick } from '@/app/ui/action-form'
import { Empty, TableBox } from '@/app/ui/notice'
import { can } from '@/lib/auth/permissions'
import { requireActor } from '@/lib/auth/session'
import { ELECTION_KINDS } from '@/lib/elections/commands'
import { getOfficeCounty, listElections } from '@/lib/elections/queries'
import { nextFederalElection } from '@/lib/kernel/dates'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../parts/county-nav'
import { OfficePage } from '../../../parts/office-page'
import { dateText, daysText } from '../../../parts/words'
import { makeElectionAction } from './actions'

export const metadata = { title: 'Elections' }

export default async function ElectionsPage({ params }: { params: Promise<{ county: string }> }) {
  const { county } = await params
  const actor = await requireActor(`/office/${county}/elections`)
  const home = await orNotFound(getOfficeCounty(actor, county))
  const elections = await orNotFound(listElections(actor, county))
  const federal = nextFederalElection(home.today)
  const known = elections.some((e) => e.heldOn === federal)
  return (
    <OfficePage
      title={`Elections of ${home.name}`}
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: home.name },
      ]}
    >
      <CountyNav
        county={county}
        here="elections"
        electionId={elections.find((e) => e.daysToGo >= 0)?.id ?? null}
      />
      {elections.length === 0 ? (
        <Empty>
          <p>No election yet. The next federal general election is on {dateText(federal, 'long')}.</p>
        </Empty>
      ) : (
        <TableBox label="Elections">
          <table>
            <thead>
              <tr>
                <th scope="col">Election</th>
                <th scope="col">Kind</th>
                <th scope="col">Day</th>
                <th scope="col">More</th>
              </tr>
            </thead>
            <tbody>
              {elections.map((e) => (
                <tr key={e.id}>
                  <th scope="row">
                    <a href={`/office/${county}/elections/${e.id}`}>{e.name}</a>
                  </th>
                  <td>{e.kind}</td>
                  <td>
                    {dateText(e.heldOn)} <span className="quiet small">{daysText(e.daysToGo)}</span>
                  </td>
                  <td>
                    <a href={`/office/${county}/crews?election=${e.id}`} aria-label={`Crews of ${e.name}`}>
                      Crews
                    </a>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      )}
      {can(actor, 'changePlaces', county) && (
        <section className="panel" aria-labelledby="make">
          <h2 id="make">New election</h2>
          <ActionForm action={makeElectionAction}>
            <input type="hidden" name="countyId" value={county} />
            <div className="form-grid">
              <Field
                name="name"
                label="Name"
                defaultValue={known ? '' : `General election ${federal.slice(0, 4)}`}
              />
              <Choice
                name="kind"
                label="Kind"
                options={ELECTION_KINDS.map((k): [string, string] => [k, k])}
              />
              <Field
                name="heldOn"
                label="Election day"
                type="date"
                hint={`The next federal general election is on ${dateText(federal)} (2 U.S.C. 7).`}
                defaultValue={known ? '' : federal}
              />
              <Choice
                name="fromElectionId"
                label="Take over places and crews from"
                hint="Every seat, with its days moved along; the earlier election stays as it is."
                options={[
                  ['', 'none: crews come from the rules'],
                  ...elections.map((e): [string, string] => [e.id, `${e.name}, ${dateText(e.heldOn)}`]),
                ]}
              />
            </div>
            <label className="tick">
              <Tick name="people" value="yes" /> Seat the same people as a draft (for a runoff)
            </label>
            <button type="submit" data-kind="main">
              Make the election
            </button>
          </ActionForm>
        </section>
      )}
    </OfficePage>
  )
}
