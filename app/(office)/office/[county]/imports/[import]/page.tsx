import { ActionForm } from '@/app/ui/action-form'
import { Figures, Notice } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getOfficeCounty, listElections } from '@/lib/elections/queries'
import type { FindingKind } from '@/lib/exchange/outcome'
import { getImport, type ImportView, listFindings } from '@/lib/exchange/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../../parts/county-nav'
import { OfficePage } from '../../../../parts/office-page'
import { count } from '../../../../parts/words'
import { applyImportAction, dropImportAction, recheckImportAction, stopImportAction } from '../actions'
import { KIND_WORDS, sizeText } from '../words'
import { Findings } from './findings'
import { ImportProgress } from './import-progress'
import { MappingForm } from './mapping-form'

export const metadata = { title: 'Import' }

const KINDS: FindingKind[] = ['error', 'warning', 'duplicate', 'change', 'create']

export default async function ImportPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; import: string }>
  searchParams: Promise<{ show?: string; page?: string }>
}) {
  const { county, import: id } = await params
  const search = await searchParams
  const actor = await requireActor(`/office/${county}/imports/${id}`)
  const elections = await orNotFound(listElections(actor, county))
  const home = await orNotFound(getOfficeCounty(actor, county))
  const one = await orNotFound(getImport(actor, county, id))
  const ids = (
    <>
      <input type="hidden" name="countyId" value={county} />
      <input type="hidden" name="importId" value={id} />
    </>
  )
  const resting = ['checked', 'failed', 'stopped'].includes(one.status)
  const { outcome } = one
  const wanted = KINDS.find((kind) => kind === search.show)
  const first = KINDS.find((kind) => outcome && figureOf(outcome, kind) > 0) ?? 'create'
  const kind = wanted ?? first
  const findings =
    one.status === 'checked' && outcome ? await listFindings(id, kind, Number(search.page) || 1) : null
  return (
    <OfficePage
      title={`${KIND_WORDS[one.kind]}: ${one.fileName}`}
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: home.name },
        { href: `/office/${county}/imports`, name: 'Bring data in' },
      ]}
    >
      <CountyNav county={county} here="imports" electionId={elections[0]?.id ?? null} />
      <State one={one} county={county}>
        {ids}
      </State>
      {one.status === 'checked' && outcome && (
        <section className="panel" aria-labelledby="would">
          <h2 id="would">What it would do</h2>
          <Figures
            items={[
              { name: 'new', value: outcome.create.toLocaleString('en-US') },
              { name: 'changed', value: outcome.change.toLocaleString('en-US') },
              { name: 'the same already', value: outcome.same.toLocaleString('en-US') },
              {
                name: outcome.errors === 1 ? 'error' : 'errors',
                value: outcome.errors.toLocaleString('en-US'),
              },
            ]}
          />
          <Verdict outcome={outcome} />
          <div className="row">
            {outcome.errors === 0 && outcome.create + outcome.change > 0 && (
              <ActionForm action={applyImportAction}>
                {ids}
                <button type="submit" data-kind="main">
                  Write {count(outcome.create + outcome.change, 'record')}
                </button>
              </ActionForm>
            )}
            <ActionForm action={dropImportAction}>
              {ids}
              <button type="submit">Drop the file</button>
            </ActionForm>
          </div>
          <p className="small quiet">
            {outcome.rows.toLocaleString('en-US')} {outcome.feed ? 'objects' : 'rows'}, {sizeText(one.bytes)}.
            The file is deleted when you write or drop it.
          </p>
        </section>
      )}
      {findings && outcome && (
        <Findings base={`/office/${county}/imports/${id}`} kind={kind} outcome={outcome} {...findings} />
      )}
      {resting && outcome && (
        <MappingForm
          action={recheckImportAction}
          kind={one.kind}
          outcome={outcome}
          settings={one.settings}
          unclear={findings?.findings.some((f) => f.row === null) ?? false}
        >
          {ids}
        </MappingForm>
      )}
      {resting && one.status !== 'checked' && (
        <div className="row">
          <ActionForm action={recheckImportAction}>
            {ids}
            <button type="submit" data-kind="main">
              Check the file again
            </button>
          </ActionForm>
          <ActionForm action={dropImportAction}>
            {ids}
            <button type="submit">Drop the file</button>
          </ActionForm>
        </div>
      )}
    </OfficePage>
  )
}

type Outcome = NonNullable<ImportView['outcome']>

const figureOf = (outcome: Outcome, kind: FindingKind): number =>
  ({
    error: outcome.errors,
    warning: outcome.warnings,
    duplicate: outcome.duplicates,
    change: outcome.change,
    create: outcome.create,
  })[kind]

function Verdict({ outcome }: { outcome: Outcome }) {
  const notes = outcome.notes.map((note) => <li key={note}>{note}</li>)
  return (
    <>
      {outcome.errors > 0 ? (
        <Notice kind="bad">
          <p>
            {count(outcome.errors, 'error')} below. Mend them in your file and choose it again, or change the
            columns: as it is, nothing can be written.
          </p>
        </Notice>
      ) : outcome.create + outcome.change === 0 ? (
        <Notice kind="good">
          <p>Everything in this file is in the county already. There is nothing to write.</p>
        </Notice>
      ) : null}
      {outcome.feed && (
        <p>
          VIP {outcome.feed.version}, election of {outcome.feed.electionOn}:{' '}
          {count(outcome.feed.counts.places, 'place')} ({outcome.feed.counts.earlySites} for early voting),{' '}
          {count(outcome.feed.counts.precincts, 'precinct')},{' '}
          {count(outcome.feed.counts.localities, 'locality', 'localities')}
          {outcome.feed.counts.dropBoxes > 0 &&
            `; ${count(outcome.feed.counts.dropBoxes, 'drop box', 'drop boxes')} left out`}
          .
        </p>
      )}
      {notes.length > 0 && <ul>{notes}</ul>}
    </>
  )
}

/** Where the import stands when there is no dry run to look at. */
function State({ one, county, children }: { one: ImportView; county: string; children: React.ReactNode }) {
  switch (one.status) {
    case 'queued':
    case 'checking':
    case 'applying':
    case 'silent':
      return (
        <section className="panel" aria-labelledby="state">
          <h2 id="state">
            {one.stage === 'waiting-apply' || one.status === 'applying' ? 'Writing' : 'Looking at the file'}
          </h2>
          {one.status === 'silent' ? (
            <Notice kind="warn">
              <p>
                The job runner has not been heard of for a while. Nothing was written. Stop this and try
                again.
              </p>
            </Notice>
          ) : (
            <ImportProgress
              address={`/office/${county}/imports/${one.id}/state`}
              start={{
                status: one.status,
                stage: one.stage,
                progress: one.progress,
                cancelAsked: one.cancelAsked,
                waitedSeconds: one.waitedSeconds,
              }}
            />
          )}
          <ActionForm action={stopImportAction}>
            {children}
            <button type="submit" data-kind="bad">
              Stop
            </button>
          </ActionForm>
        </section>
      )
    case 'applied':
      return (
        <Notice kind="good">
          <p>
            Written: {count(one.outcome?.create ?? 0, 'new record')},{' '}
            {count(one.outcome?.change ?? 0, 'changed record')}. The file is deleted.
          </p>
          <p>
            {one.kind === 'people' ? (
              <>
                <a href={`/office/${county}/people`}>See the people</a>, or{' '}
                <a href={`/office/${county}/people/duplicates`}>records that may be one person</a>.
              </>
            ) : (
              <a href={`/office/${county}/imports`}>Bring in another file</a>
            )}
          </p>
        </Notice>
      )
    case 'dropped':
      return (
        <Notice>
          <p>This file was dropped. Nothing of it was written, and it is deleted.</p>
        </Notice>
      )
    case 'failed':
      return (
        <Notice kind="bad">
          <p>{one.failure}</p>
        </Notice>
      )
    case 'stopped':
      return (
        <Notice kind="warn">
          <p>Stopped. Nothing was written.</p>
        </Notice>
      )
    default:
      return null
  }
}
