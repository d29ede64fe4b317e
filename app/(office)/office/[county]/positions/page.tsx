import { ActionForm, Choice, Field, FieldError, Tick } from '@/app/ui/action-form'
import { Empty, Notice, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getPositionsPage, type PositionsPage } from '@/lib/certification/queries-rules'
import { listElections } from '@/lib/elections/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../parts/county-nav'
import { OfficePage } from '../../../parts/office-page'
import { count } from '../../../parts/words'
import { adoptPositionsAction, savePositionAction } from './actions'

export const metadata = { title: 'Positions' }

export default async function PositionsPageView({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Promise<{ said?: string; made?: string }>
}) {
  const [{ county }, search] = await Promise.all([params, searchParams])
  const actor = await requireActor(`/office/${county}/positions`)
  const elections = await orNotFound(listElections(actor, county))
  const page = await orNotFound(getPositionsPage(actor, county))
  const { positions, templates } = page
  const made = Number(search.made)
  return (
    <OfficePage
      title="Positions"
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: page.county.name },
      ]}
    >
      <CountyNav county={county} here="positions" electionId={elections[0]?.id ?? null} />
      {(search.said === 'adopted' || search.said === 'saved') && (
        <div role="status">
          <Notice kind="good">
            <p>
              {search.said === 'saved'
                ? 'Saved.'
                : made > 0
                  ? `${count(made, 'position')} made, each with its rule for certificates.`
                  : 'Nothing was made: the county has these positions already.'}{' '}
              <a href={`/office/${county}`}>Go on with the county</a>
            </p>
          </Notice>
        </div>
      )}
      <p className="lead">
        The work at the polls as your county names it, and the certificate that it asks for.
      </p>
      {positions.length === 0 ? (
        <Empty>
          <p>No positions yet. Adopt the ones that you use below; you can rename them afterwards.</p>
        </Empty>
      ) : (
        <section aria-labelledby="have">
          <h2 id="have">Your positions</h2>
          {positions.map((position) => (
            <details className="more" key={position.key}>
              <summary>
                {position.rank}. {position.nameEn}{' '}
                {position.ruled ? (
                  <Tag kind="good">has a rule</Tag>
                ) : (
                  <Tag kind="bad">✕ no rule: nobody can hold its certificate</Tag>
                )}
              </summary>
              <PositionForm county={county} position={position} positions={positions} />
              <p>
                <a href={`/office/${county}/rules/${position.certificateKey}`}>
                  {position.ruled ? 'Its rule for certificates' : 'Write its rule for certificates'}
                  <span className="only-heard">: {position.nameEn}</span>
                </a>
              </p>
            </details>
          ))}
        </section>
      )}
      {templates.length > 0 && <Adopt page={page} county={county} />}
      <section className="panel" aria-labelledby="own">
        <h2 id="own">A position of your own</h2>
        <PositionForm county={county} position={null} positions={positions} />
      </section>
    </OfficePage>
  )
}

const Adopt = ({ page, county }: { page: PositionsPage; county: string }) => (
  <section className="panel" aria-labelledby="adopt">
    <h2 id="adopt">Adopt from templates</h2>
    <p>
      Each comes with a rule: what somebody must have done to be certified. A template is not law: check it
      against your state’s law and your county’s procedures. You can change each rule later.
    </p>
    <ActionForm action={adoptPositionsAction} id="adopt-form">
      <input type="hidden" name="countyId" value={county} />
      <fieldset className="choices">
        <legend>Positions</legend>
        {page.templates.map((template) => (
          <label className="choice" key={template.key}>
            <Tick name="template[]" value={template.key} />
            <span>
              <b>{template.name}</b>
              <br />
              <span className="small">{template.sentence}.</span>
            </span>
          </label>
        ))}
        <FieldError name="template" />
      </fieldset>
      <div className="form-grid">
        <Field
          name="citation"
          label="Legal citation"
          hint="The county’s own, for these rules: statute, regulation or procedure. Or say that there is none yet."
        />
        <Field
          name="effectiveFrom"
          label="They judge every day from"
          type="date"
          min={page.county.today}
          defaultValue={page.county.today}
        />
        <Field
          name="earlierMonths"
          label="Training before you moved here counts for … months"
          hint="From the day of the training, as you bring it in from a file. It then stands for the whole rule. Empty: it doesn’t count."
          inputMode="numeric"
          defaultValue="24"
        />
      </div>
      <label className="choice">
        <Tick name="checked" value="yes" /> I have checked these rules against our state’s law and our
        county’s procedures.
      </label>
      <FieldError name="checked" />
      <button type="submit" data-kind="main">
        Adopt these positions
      </button>
    </ActionForm>
  </section>
)

const PositionForm = ({
  county,
  position,
  positions,
}: {
  county: string
  position: PositionsPage['positions'][number] | null
  positions: PositionsPage['positions']
}) => {
  const certificates = new Map(positions.map((p) => [p.certificateKey, p.nameEn]))
  return (
    <ActionForm action={savePositionAction} id={`position-${position?.key ?? ''}`}>
      <input type="hidden" name="countyId" value={county} />
      <input type="hidden" name="key" value={position?.key ?? ''} />
      <div className="form-grid">
        <Field name="nameEn" label="Name in English" defaultValue={position?.nameEn} autoComplete="off" />
        <Field name="nameEs" label="Name in Spanish" defaultValue={position?.nameEs} autoComplete="off" />
        <Field
          name="rank"
          label="Filled as number"
          hint="1 is filled first."
          inputMode="numeric"
          defaultValue={String(position?.rank ?? positions.length + 1)}
        />
        <Choice
          name="certificateKey"
          label="Certificate"
          options={[
            ...(position ? [] : [['', 'one of its own'] as [string, string]]),
            ...[...certificates].map(([key, name]): [string, string] => [key, `that of: ${name}`]),
          ]}
          defaultValue={position?.certificateKey ?? ''}
        />
      </div>
      <button type="submit">{position ? 'Save' : 'Make the position'}</button>
    </ActionForm>
  )
}
