import { notFound } from 'next/navigation'
import { ActionForm, Choice, Field } from '@/app/ui/action-form'
import { TableBox } from '@/app/ui/notice'
import { PlainField } from '@/app/ui/plain-field'
import { can } from '@/lib/auth/permissions'
import { requireActor } from '@/lib/auth/session'
import { getOfficeCounty, listElections } from '@/lib/elections/queries'
import { listPositions } from '@/lib/people/queries'
import { getServiceSettings } from '@/lib/people/queries-history'
import { getRosterRules } from '@/lib/roster/queries-rules'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../parts/county-nav'
import { OfficePage } from '../../../parts/office-page'
import { payRatesAction, serviceRulesAction } from './actions'
import { RosterRules } from './roster-rules'

export const metadata = { title: 'Service and pay' }

const cents = (n: number | undefined) => (n ? (n / 100).toFixed(2) : '')

export default async function ServicePage({ params }: { params: Promise<{ county: string }> }) {
  const { county } = await params
  const actor = await requireActor(`/office/${county}/service`)
  const home = await orNotFound(getOfficeCounty(actor, county))
  if (!can(actor, 'publishRules', county)) notFound()
  const [{ rules, rates, active, withoutHomePrecinct }, wishes, positions, elections] = await Promise.all([
    orNotFound(getServiceSettings(actor, county)),
    orNotFound(getRosterRules(actor, county)),
    listPositions(county),
    orNotFound(listElections(actor, county)),
  ])
  return (
    <OfficePage
      title="Service and pay"
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: home.name },
      ]}
    >
      <CountyNav
        county={county}
        here="service"
        electionId={elections.find((e) => e.daysToGo >= 0)?.id ?? null}
      />
      <section className="panel" aria-labelledby="who">
        <h2 id="who">Who may serve</h2>
        <p>Your law decides; this page only applies it. Rosters seat nobody whom these rules bar.</p>
        <ActionForm action={serviceRulesAction}>
          <input type="hidden" name="countyId" value={county} />
          <div className="form-grid">
            <Choice
              name="students"
              label="Students too young to vote"
              options={[
                ['welcome', 'may serve'],
                ['no', 'may not serve'],
              ]}
              defaultValue={rules.students}
            />
            <Field
              name="studentsFromAge"
              label="A student’s age, at least"
              hint="In years; empty: no such rule. Only years of birth are known: whoever may be old enough passes."
              inputMode="numeric"
              defaultValue={String(rules.studentsFromAge ?? '')}
            />
            <Field
              name="studentsPerCrew"
              label="Students in one crew, at most"
              hint="Of one place on one day; empty: no such rule."
              inputMode="numeric"
              defaultValue={String(rules.studentsPerCrew ?? '')}
            />
            <Choice
              name="nominated"
              label="Whom a party named"
              hint="When somebody has to be replaced."
              options={[
                ['alike', 'is asked like anybody else'],
                ['first', 'is asked first, in the order of the party’s newest list'],
              ]}
              defaultValue={rules.nominated}
            />
            <Choice
              name="residents"
              label="Residence"
              hint={`By precinct: whoever has no home precinct on record sits at no polling place that serves precincts. ${withoutHomePrecinct.toLocaleString('en-US')} of ${active.toLocaleString('en-US')} active people have none.`}
              options={[
                ['anyone', 'anyone may serve'],
                ['county', 'only residents of the county'],
                ['precinct', 'at a polling place, only residents of a precinct that it serves'],
              ]}
              defaultValue={rules.residents}
            />
            <Field
              name="citation"
              label="Citation"
              hint="The law or procedure that says so."
              defaultValue={rules.citation}
            />
          </div>
          <button type="submit" data-kind="main">
            Save these rules
          </button>
        </ActionForm>
      </section>
      <RosterRules county={county} form={wishes} positions={positions} />
      <section className="panel" aria-labelledby="rates">
        <h2 id="rates">What each position is paid</h2>
        <p>In dollars: for the day, for each hour, or both. Crews count a full day with these rates.</p>
        <ActionForm action={payRatesAction}>
          <input type="hidden" name="countyId" value={county} />
          <TableBox label="Rates">
            <table>
              <thead>
                <tr>
                  <th scope="col">Position</th>
                  <th scope="col">For the day</th>
                  <th scope="col">For each hour</th>
                </tr>
              </thead>
              <tbody>
                {positions.map((p, row) => (
                  <tr key={p.key}>
                    <th scope="row">
                      {p.nameEn}
                      <input type="hidden" name="position[]" value={p.key} />
                    </th>
                    <td>
                      <PlainField
                        name="perDay[]"
                        row={row}
                        label={`${p.nameEn}, for the day`}
                        labelHidden
                        inputMode="decimal"
                        value={cents(rates[p.key]?.perDayCents)}
                        className=""
                      />
                    </td>
                    <td>
                      <PlainField
                        name="perHour[]"
                        row={row}
                        label={`${p.nameEn}, for each hour`}
                        labelHidden
                        inputMode="decimal"
                        value={cents(rates[p.key]?.perHourCents)}
                        className=""
                      />
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </TableBox>
          <button type="submit" data-kind="main">
            Save the rates
          </button>
        </ActionForm>
      </section>
    </OfficePage>
  )
}
