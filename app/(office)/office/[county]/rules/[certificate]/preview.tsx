import { ActionForm, Field, FieldError } from '@/app/ui/action-form'
import { Notice } from '@/app/ui/notice'
import type { PreviewPerson, RulePreviewPage } from '@/lib/certification/queries-rules'
import type { Requirement } from '@/lib/certification/schema'
import { count, dateText } from '../../../../parts/words'
import { publishRuleAction } from '../actions'

const NAMES = 40

/** What the rule would do to real people, and the way to publish it. */
export function Preview({
  county,
  certificate,
  name,
  preview,
  requirement,
  effectiveFrom,
  citation,
  version,
}: {
  county: string
  certificate: string
  name: string
  preview: RulePreviewPage
  requirement: Requirement
  effectiveFrom: string
  citation: string
  /** The newest version so far. */
  version: number
}) {
  const { gain, lose, keep, neither } = preview
  return (
    <>
      <section className="panel" aria-labelledby="preview">
        <h2 id="preview">What it would do</h2>
        <p className="rule-sentence">
          {name}: {preview.sentence.en}.
        </p>
        <p className="rule-sentence" lang="es">
          {preview.sentence.es}.
        </p>
        <p>
          {preview.election ? `On ${preview.election}, ` : 'On its first day, '}
          {dateText(preview.on, 'long')}, with what is on record today:
        </p>
        <Shares
          parts={[
            { name: 'hold it before and after', n: keep, kind: 'keep' },
            { name: 'gain it', n: gain.length, kind: 'gain' },
            { name: 'lose it', n: lose.length, kind: 'lose' },
            { name: 'hold it neither way', n: neither, kind: 'neither' },
          ]}
        />
        {preview.seatedLosers > 0 && (
          <Notice kind="bad">
            <p>
              {count(preview.seatedLosers, 'person', 'people')} of those who lose it{' '}
              {preview.seatedLosers === 1 ? 'has' : 'have'} a seat that asks for it in the newest roster.
            </p>
          </Notice>
        )}
        <Names title={`Would lose it: ${lose.length}`} people={lose} county={county} open />
        <Names title={`Would gain it: ${gain.length}`} people={gain} county={county} />
      </section>
      <section className="panel" aria-labelledby="publish">
        <h2 id="publish">Publish</h2>
        <p>
          It becomes version {version + 1} and judges every day from {dateText(effectiveFrom)} on. Days before
          stay as they were judged.
        </p>
        <ActionForm action={publishRuleAction}>
          <input type="hidden" name="countyId" value={county} />
          <input type="hidden" name="certificateKey" value={certificate} />
          <input type="hidden" name="expectedVersion" value={version} />
          <input type="hidden" name="effectiveFrom" value={effectiveFrom} />
          <input type="hidden" name="requirement" value={JSON.stringify(requirement)} />
          <Field
            name="citation"
            label="Legal citation"
            hint="The county’s own: statute, regulation or procedure, with its section."
            defaultValue={citation}
          />
          <label className="choice">
            <input type="checkbox" name="checked" value="yes" required />I have checked this rule against our
            state’s law and our county’s procedures.
          </label>
          <FieldError name="checked" />
          <button type="submit" data-kind="main">
            Publish version {version + 1}
          </button>
        </ActionForm>
      </section>
    </>
  )
}

/** Four shares of a whole as one bar with patterns, the figures as text beside their keys. */
const Shares = ({ parts }: { parts: { name: string; n: number; kind: string }[] }) => {
  const all = Math.max(
    1,
    parts.reduce((sum, part) => sum + part.n, 0),
  )
  let x = 0
  return (
    <div className="shares">
      <svg viewBox="0 0 600 28" preserveAspectRatio="none" aria-hidden="true" focusable="false">
        {parts.map((part) => {
          const width = (600 * part.n) / all
          x += width
          return <rect key={part.kind} className={part.kind} x={x - width} y="1" width={width} height="26" />
        })}
      </svg>
      <ul>
        {parts.map((part) => (
          <li key={part.kind}>
            <svg viewBox="0 0 16 16" aria-hidden="true" focusable="false">
              <rect className={part.kind} x="1" y="1" width="14" height="14" />
            </svg>
            <span>
              <b>{part.n}</b> {part.name}
            </span>
          </li>
        ))}
      </ul>
    </div>
  )
}

const Names = ({
  title,
  people,
  county,
  open,
}: {
  title: string
  people: PreviewPerson[]
  county: string
  open?: boolean
}) =>
  people.length === 0 ? (
    <p>{title}.</p>
  ) : (
    <details className="more" open={open}>
      <summary>{title}</summary>
      <ul className="name-columns">
        {people.slice(0, NAMES).map((person) => (
          <li key={person.id}>
            <a href={`/office/${county}/people/${person.id}`}>{person.name}</a>{' '}
            <span className="quiet small">{person.countyRef}</span>
          </li>
        ))}
      </ul>
      {people.length > NAMES && <p>and {people.length - NAMES} more.</p>}
    </details>
  )
