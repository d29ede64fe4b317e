import { notFound } from 'next/navigation'
import type { ComponentProps } from 'react'
import { ActionForm, Choice, Field } from '@/app/ui/action-form'
import { Notice } from '@/app/ui/notice'
import { PlainField } from '@/app/ui/plain-field'
import { can } from '@/lib/auth/permissions'
import { requireActor } from '@/lib/auth/session'
import { COUNT_FORMS, conditionsBeyondForm, countText } from '@/lib/crews/core/rule-text'
import { getCrewRules } from '@/lib/crews/queries'
import type { SeatRule } from '@/lib/crews/schema'
import { getOfficeCounty } from '@/lib/elections/queries'
import { listPositions } from '@/lib/people/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { OfficePage } from '../../../../parts/office-page'
import { PLACE_KINDS } from '../../places/words'
import { publishCrewRulesAction } from '../actions'
import { PHASES, SAME_PARTY } from '../rule-words'

export const metadata = { title: 'Crew rules' }

const EMPTY_LINES = 3
const percent = (share: number) => String(Number((share * 100).toFixed(4)))

const Cell = (field: Omit<ComponentProps<typeof PlainField>, 'className'>) => (
  <PlainField {...field} className="cell" />
)

export default async function CrewRulesPage({ params }: { params: Promise<{ county: string }> }) {
  const { county } = await params
  const actor = await requireActor(`/office/${county}/crews/rules`)
  const home = await orNotFound(getOfficeCounty(actor, county))
  if (!can(actor, 'publishRules', county)) notFound()
  const [{ version, citation, ruleTable, demand }, positions] = await Promise.all([
    orNotFound(getCrewRules(actor, county)),
    listPositions(county),
  ])
  const lines: (SeatRule | null)[] = [...ruleTable.rules, ...Array<null>(EMPTY_LINES).fill(null)]
  const line = (rule: SeatRule | null, n: number) => (
    <fieldset className="crew-rule" key={n}>
      <legend>{rule ? `Rule ${n}` : `Rule ${n} (new)`}</legend>
      <input
        type="hidden"
        name="rest[]"
        value={JSON.stringify(rule ? conditionsBeyondForm(rule.when) : {})}
      />
      <div className="rule-cells">
        <Cell
          row={n - 1}
          name="position[]"
          label="Position"
          value={rule?.position ?? ''}
          options={[
            ['', rule ? 'leave this rule out' : 'none'],
            ...positions.map((p): [string, string] => [p.key, p.nameEn]),
          ]}
        />
        <Cell row={n - 1} name="count[]" label="Seats" value={rule ? countText(rule.count) : ''} />
        <Cell
          row={n - 1}
          name="per[]"
          label="For each"
          value={rule?.per ?? 'place'}
          options={[
            ['place', 'place'],
            ['precinct', 'precinct'],
          ]}
        />
        <Cell
          row={n - 1}
          name="phase[]"
          label="When"
          value={rule?.when.phases?.length === 1 ? rule.when.phases[0]! : ''}
          options={[['', 'any day'], ...Object.entries(PHASES)]}
        />
        <Cell
          row={n - 1}
          name="kind[]"
          label="Where"
          value={rule?.when.placeKinds?.length === 1 ? rule.when.placeKinds[0]! : ''}
          options={[['', 'any place'], ...Object.entries(PLACE_KINDS)]}
        />
        <Cell row={n - 1} name="over[]" label="Over … voters" value={String(rule?.when.over ?? '')} />
        <Cell row={n - 1} name="upTo[]" label="Up to … voters" value={String(rule?.when.upTo ?? '')} />
        <Cell
          row={n - 1}
          name="shifts[]"
          label="Shift"
          value={rule && rule.shifts.length > 1 ? 'halves' : 'full'}
          options={[
            ['full', 'whole day'],
            ['halves', 'morning and afternoon'],
          ]}
        />
        <Cell
          row={n - 1}
          name="legal[]"
          label="Legal minimum"
          value={rule?.legalMinimum ? 'yes' : 'no'}
          options={[
            ['no', 'no'],
            ['yes', 'yes'],
          ]}
        />
        <Cell row={n - 1} name="ruleCitation[]" label="Citation, if its own" value={rule?.citation ?? ''} />
      </div>
    </fieldset>
  )
  return (
    <OfficePage
      title="Crew rules"
      crumbs={[
        { href: `/office/${county}`, name: home.name },
        { href: `/office/${county}/crews`, name: 'Crews' },
      ]}
    >
      <Notice kind={version === 0 ? 'warn' : 'info'}>
        <p>
          {version === 0
            ? 'This is a template, not law. Check every number against your state’s law and your county’s procedures, and enter your own citation.'
            : `You change version ${version}. What you publish becomes version ${version + 1}; earlier versions stay on record.`}
        </p>
      </Notice>
      <ActionForm action={publishCrewRulesAction}>
        <input type="hidden" name="countyId" value={county} />
        <input type="hidden" name="fromVersion" value={version} />
        <section aria-labelledby="rules">
          <h2 id="rules">Rules</h2>
          <p>
            Rules of one position add up. Write seats like {COUNT_FORMS}. Voters are the registered ones of
            the place or precinct.
          </p>
          <div className="form-grid">
            <Field
              name="citation"
              label="Citation"
              hint="The law or procedure that these rules follow."
              defaultValue={version === 0 ? '' : citation}
            />
            <Choice
              name="sameParty"
              label="Party"
              options={Object.entries(SAME_PARTY)}
              defaultValue={ruleTable.sameParty ?? ''}
            />
          </div>
          {lines.map((rule, i) => line(rule, i + 1))}
        </section>
        <section aria-labelledby="demand">
          <h2 id="demand">How voters come</h2>
          <p>For the waiting-time estimate only. Use your own counts.</p>
          <div className="form-grid">
            <Field
              name="turnoutPercent"
              label="Registered voters who vote here, %"
              inputMode="decimal"
              defaultValue={percent(demand.turnoutFraction)}
            />
            <Field
              name="waitingPercent"
              label="Of them, waiting at opening, %"
              inputMode="decimal"
              defaultValue={percent(demand.waitingAtOpeningFraction)}
            />
            <Field
              name="opensAtHour"
              label="Opens at hour"
              inputMode="numeric"
              defaultValue={String(demand.opensAtHour)}
            />
            <Field
              name="checkInMinutes"
              label="Minutes at check-in"
              inputMode="decimal"
              defaultValue={String(demand.checkInMinutes)}
            />
            <Field
              name="votingMinutes"
              label="Minutes at a ballot station"
              inputMode="decimal"
              defaultValue={String(demand.votingMinutes)}
            />
            <Field
              name="hourPercents"
              label="Share of each hour, %"
              hint="From opening on, separated by commas; together 100."
              defaultValue={demand.shareByHour.map(percent).join(', ')}
            />
            <Field name="demandSource" label="Where these counts come from" defaultValue={demand.source} />
          </div>
        </section>
        <p className="row">
          <button type="submit" data-kind="main">
            Publish version {version + 1}
          </button>
          <a className="button" href={`/office/${county}/crews`}>
            Publish nothing
          </a>
        </p>
      </ActionForm>
    </OfficePage>
  )
}
