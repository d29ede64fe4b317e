import { ActionForm, Choice, Field } from '@/app/ui/action-form'
import { Empty, Notice, Tag } from '@/app/ui/notice'
import { can } from '@/lib/auth/permissions'
import { requireActor } from '@/lib/auth/session'
import {
  type CertificateCard,
  type EarlierTraining,
  listCertificates,
  listEarlierTraining,
} from '@/lib/certification/queries-certificates'
import { listWhereEarlierCounts } from '@/lib/path/queries-evidence'
import { getPerson, listPositions } from '@/lib/people/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { OfficePage } from '../../../../../parts/office-page'
import { dateText, lastDayOf } from '../../../../../parts/words'
import {
  giveBackCertificateAction,
  recordEarlierTrainingAction,
  revokeCertificateAction,
  revokeEarlierTrainingAction,
} from './actions'

export const metadata = { title: 'Certificates of a person' }

const STATE_WORDS = {
  valid: '✓ valid',
  notYetValid: '○ not valid yet',
  expired: '✕ ended',
  revoked: '✕ revoked',
} as const

const SAID: Record<string, string> = {
  revoked: 'The certificate is revoked. Whoever checks it is told so from now on.',
  trained: 'Recorded. Whether it counts, and how long, follows from your rules for certificates.',
  untrained: 'Taken back. From today the training counts no more.',
  returned: 'The revocation is taken back. What was done before counts again, under a new number.',
}

/** For staff: what was issued to a person, the papers, and the way to revoke. */
export default async function PersonCertificatesPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; id: string }>
  searchParams: Promise<{ said?: string }>
}) {
  const { county, id } = await params
  const { said } = await searchParams
  const actor = await requireActor(`/office/${county}/people/${id}/certificates`)
  const person = await orNotFound(getPerson(actor, county, id))
  const certificates = await orNotFound(listCertificates(actor, id))
  const [earlier, positions, counting] = await Promise.all([
    orNotFound(listEarlierTraining(actor, county, id)),
    listPositions(county),
    orNotFound(listWhereEarlierCounts(actor, county)),
  ])
  const name = `${person.givenName} ${person.familyName}`
  const mayRevoke = can(actor, 'revokeCertificate', county)
  const message = SAID[said ?? '']
  return (
    <OfficePage
      title={`Certificates of ${name}`}
      crumbs={[
        { href: `/office/${county}/people`, name: 'People' },
        { href: `/office/${county}/people/${id}`, name },
      ]}
    >
      {message && (
        <div role="status">
          <Notice kind="good">
            <p>{message}</p>
          </Notice>
        </div>
      )}
      {certificates.length === 0 && (
        <Empty>
          <p>Nothing was issued yet. A certificate is made by itself when the last step is recorded.</p>
        </Empty>
      )}
      {certificates.map((certificate) => (
        <section
          key={certificate.certificateId}
          className="panel"
          aria-labelledby={certificate.certificateId}
        >
          <h2 id={certificate.certificateId}>{certificate.roleName.en}</h2>
          <Standing certificate={certificate} />
          {certificate.issueId && <Papers issueId={certificate.issueId} serial={certificate.serial} />}
          {mayRevoke && certificate.state !== 'revoked' && certificate.state !== 'expired' && (
            <details>
              <summary>Revoke this certificate</summary>
              <p>
                From today it counts no more, and neither does what was done for it so far. The person can
                earn it anew. The person sees your reason.
              </p>
              <ActionForm action={revokeCertificateAction}>
                <input type="hidden" name="certificateId" value={certificate.certificateId} />
                <Field name="reason" label="Why?" maxLength={200} required />
                <button type="submit" data-kind="bad">
                  Revoke
                </button>
              </ActionForm>
            </details>
          )}
          {mayRevoke && certificate.canBeGivenBack && (
            <details>
              <summary>The revocation was a mistake</summary>
              <p>What was done before counts again from today. The certificate gets a new number.</p>
              <ActionForm action={giveBackCertificateAction}>
                <input type="hidden" name="certificateId" value={certificate.certificateId} />
                <Field name="reason" label="Why?" maxLength={200} required />
                <button type="submit">Take the revocation back</button>
              </ActionForm>
            </details>
          )}
        </section>
      ))}
      {can(actor, 'importData', county) && (
        <Earlier county={county} workerId={id} earlier={earlier} positions={positions} counting={counting} />
      )}
    </OfficePage>
  )
}

/** Training that was recorded elsewhere: what there is, and a form for one more. */
const Earlier = ({
  county,
  workerId,
  earlier,
  positions,
  counting,
}: {
  county: string
  workerId: string
  earlier: EarlierTraining[]
  positions: { certificateKey: string; nameEn: string }[]
  /** Certificates whose rule counts it. */
  counting: readonly string[]
}) => {
  const keys = new Map(positions.map((p) => [p.certificateKey, p.nameEn]))
  return (
    <section className="panel" aria-labelledby="earlier">
      <h2 id="earlier">Training before you kept your records here</h2>
      {earlier.map((one) => (
        <div key={one.id}>
          <p>
            {one.name}, {dateText(one.on)}, as {one.saidBy} says.{' '}
            {one.takenBack && <Tag kind="bad">✕ taken back</Tag>}
          </p>
          {!one.takenBack && (
            <ActionForm
              action={revokeEarlierTrainingAction}
              id={`earlier-${one.id}`}
              fold={
                <>
                  Take this back
                  <span className="only-heard">
                    : {one.name}, {dateText(one.on)}
                  </span>
                </>
              }
            >
              <input type="hidden" name="factId" value={one.id} />
              <Field name="reason" label="Why? (kept in the record)" maxLength={200} />
              <button type="submit" data-kind="bad">
                It no longer counts
              </button>
            </ActionForm>
          )}
        </div>
      ))}
      <ActionForm
        action={recordEarlierTrainingAction}
        id="earlier-new"
        fold="Record training that was done elsewhere"
      >
        <p>For many people at once, bring in a file of the kind “Earlier training”.</p>
        <input type="hidden" name="countyId" value={county} />
        <input type="hidden" name="workerId" value={workerId} />
        <div className="form-grid">
          <Choice
            name="certificateKey"
            label="Trained as"
            hint={
              counting.length < keys.size
                ? 'Where your rule doesn’t count it, it is kept and changes nothing.'
                : undefined
            }
            options={[...keys].map(([key, position]): [string, string] => [
              key,
              counting.includes(key) ? position : `${position} (your rule doesn’t count it)`,
            ])}
          />
          <Field name="on" label="On" type="date" />
          <Field name="saidBy" label="Who says so" hint="A name or an office." autoComplete="off" />
        </div>
        <button type="submit">Record it</button>
      </ActionForm>
    </section>
  )
}

const Standing = ({ certificate: c }: { certificate: CertificateCard }) => (
  <>
    <p>
      <Tag kind={c.state === 'valid' ? 'good' : c.state === 'notYetValid' ? 'warn' : 'bad'}>
        {STATE_WORDS[c.state]}
      </Tag>{' '}
      {c.validFrom && dateText(c.validFrom)} to {c.validUntil ? dateText(lastDayOf(c.validUntil)) : 'no end'}
    </p>
    <p>
      Number <strong className="one-line">{c.serial}</strong>
    </p>
    {c.revokedOn && (
      <p>
        Revoked on {dateText(c.revokedOn)}: {c.revokedBecause}
      </p>
    )}
  </>
)

const Papers = ({ issueId, serial }: { issueId: string; serial: string }) => {
  const paper = `/api/certificates/${issueId}/certificate.pdf`
  return (
    <p className="row">
      <a className="button" href={`${paper}?language=en`}>
        PDF, English
      </a>
      <a className="button" href={`${paper}?language=es`}>
        PDF, Spanish
      </a>
      <a href={`/api/certificates/${issueId}/credential.jwt`}>Signed file (.jwt)</a>
      <a href={`/verify/${serial}`}>What others see</a>
    </p>
  )
}
