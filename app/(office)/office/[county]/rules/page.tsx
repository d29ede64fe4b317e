import { Empty, Notice, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { listRules, type RuleSummary } from '@/lib/certification/queries-rules'
import { listElections } from '@/lib/elections/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../parts/county-nav'
import { OfficePage } from '../../../parts/office-page'
import { dateText } from '../../../parts/words'

export const metadata = { title: 'Rules' }

export default async function RulesPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Promise<{ published?: string }>
}) {
  const [{ county: countyId }, { published }] = await Promise.all([params, searchParams])
  const actor = await requireActor(`/office/${countyId}/rules`)
  const elections = await orNotFound(listElections(actor, countyId))
  const { county, rules } = await orNotFound(listRules(actor, countyId))
  const done = rules.find((rule) => rule.certificateKey === published)
  const unchecked = rules.filter((rule) => rule.unchecked).length
  return (
    <OfficePage
      title="Rules for certificates"
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${countyId}`, name: county.name },
      ]}
    >
      <CountyNav county={countyId} here="rules" electionId={elections[0]?.id ?? null} />
      {done && (
        <div role="status">
          <Notice kind="good">
            <p>
              Version {done.versions[0]?.version} for “{done.name}” is published. Who is certified is worked
              out anew now; it takes a moment.
            </p>
          </Notice>
        </div>
      )}
      <p className="lead">
        What somebody must have done to hold each certificate. A published version is never changed: a new one
        takes its place from a date on.
      </p>
      {unchecked > 0 && (
        <Notice kind="warn">
          <p>
            {unchecked === 1 ? 'One rule is' : `${unchecked} rules are`} still as the template has it. A
            template is not law: check it against your state’s law and your county’s procedures, enter your
            own citation, and publish it.
          </p>
        </Notice>
      )}
      {rules.length === 0 && (
        <Empty>
          <p>This county has no positions yet, so there is nothing to be certified for.</p>
        </Empty>
      )}
      {rules.map((rule) => (
        <Rule key={rule.certificateKey} rule={rule} county={countyId} />
      ))}
    </OfficePage>
  )
}

const Rule = ({ rule, county }: { rule: RuleSummary; county: string }) => {
  const now = rule.versions.find((v) => v.state === 'in effect')
  const toCome = rule.versions.filter((v) => v.state === 'to come')
  const earlier = rule.versions.filter((v) => v.state === 'earlier')
  return (
    <section className="panel" aria-labelledby={`rule-${rule.certificateKey}`}>
      <h2 id={`rule-${rule.certificateKey}`}>{rule.name}</h2>
      {now ? (
        <>
          <p className="rule-sentence">{now.sentence.en}.</p>
          <p className="small quiet">
            Version {now.version}, since {dateText(now.effectiveFrom)}. {now.citation}{' '}
            {rule.unchecked && <Tag kind="warn">! template, not checked</Tag>}
          </p>
        </>
      ) : (
        <p>
          <Tag kind="bad">✕ no rule in effect</Tag> Nobody can hold this certificate.
        </p>
      )}
      {toCome.map((v) => (
        <Notice key={v.version}>
          <p>
            From {dateText(v.effectiveFrom)} on, version {v.version}: {v.sentence.en}. {v.citation}
          </p>
        </Notice>
      ))}
      <p>
        <a className="button" href={`/office/${county}/rules/${rule.certificateKey}`}>
          {rule.versions.length > 0 ? 'Prepare a new version' : 'Write the rule'}
          <span className="only-heard"> for {rule.name}</span>
        </a>
      </p>
      {earlier.length > 0 && (
        <details className="more">
          <summary>Earlier versions ({earlier.length})</summary>
          <ul>
            {earlier.map((v) => (
              <li key={v.version}>
                Version {v.version}, from {dateText(v.effectiveFrom)}: {v.sentence.en}. {v.citation}
              </li>
            ))}
          </ul>
        </details>
      )}
    </section>
  )
}
