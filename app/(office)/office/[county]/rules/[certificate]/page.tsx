import '../rules.css'
import { Notice } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { linesOf, NEW_LINE, requirementOf } from '@/lib/certification/core/rule-form'
import { canMoveIn, endOf, lineNames } from '@/lib/certification/core/rule-outline'
import { requirementSentence } from '@/lib/certification/core/sentence'
import { getRuleOrThrow, previewRule, type RulePage } from '@/lib/certification/queries-rules'
import { addDays, isCivilDate } from '@/lib/kernel/dates'
import { listEvidenceChoices } from '@/lib/path/queries-evidence'
import { orNotFound } from '@/lib/web/or-not-found'
import { OfficePage } from '../../../../parts/office-page'
import { type Draft, draftIn, type Search } from './draft'
import { Line } from './line'
import { Preview } from './preview'

export const metadata = { title: 'A rule' }

/** The draft to begin with: the template where it was asked for, else the newest version, else the template. */
function beginning(rule: RulePage, search: Search): Draft {
  const newest = search.from === 'template' ? undefined : rule.versions[0]
  const source = newest ?? rule.template
  return {
    lines: source ? linesOf(source.requirement) : [{ ...NEW_LINE }],
    effectiveFrom: addDays(rule.county.today, 1),
    citation: newest && !rule.unchecked ? newest.citation : '',
    preview: false,
  }
}

export default async function RulePageForm({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; certificate: string }>
  searchParams: Promise<Search>
}) {
  const [{ county, certificate }, search] = await Promise.all([params, searchParams])
  const actor = await requireActor(`/office/${county}/rules/${certificate}`)
  const [rule, choices] = await Promise.all([
    orNotFound(getRuleOrThrow(actor, county, certificate)),
    orNotFound(listEvidenceChoices(actor, county)),
  ])
  const draft = draftIn(search) ?? beginning(rule, search)
  const form = `/office/${county}/rules/${certificate}`
  const names = lineNames(draft.lines)
  /** The lines of one level, each with what is inside it. */
  const linesFrom = (from: number, to: number): React.ReactNode[] => {
    const items: React.ReactNode[] = []
    for (let i = from, above: string | null = null; i < to; ) {
      const line = draft.lines[i]!
      const end = endOf(draft.lines, i)
      items.push(
        // A line has no name of its own: what it holds and where it stands is what it is.
        <div className="rule-item" key={`${i}-${draft.lines.length}-${line.level}-${line.what}`}>
          <Line
            i={i}
            line={line}
            name={names[i]!}
            above={above}
            canMoveIn={canMoveIn(draft.lines, i)}
            form={form}
            choices={choices}
            profiles={rule.equipmentProfiles}
            problems={problems}
          />
          {end > i + 1 && <div className="rule-inside">{linesFrom(i + 1, end)}</div>}
        </div>,
      )
      above = names[i]!
      i = end
    }
    return items
  }
  const reading = requirementOf(draft.lines, choices)
  const dateWrong = !isCivilDate(draft.effectiveFrom)
    ? 'Choose a day.'
    : draft.effectiveFrom < rule.county.today
      ? 'Choose today or a later day: days that are past stay as they were judged.'
      : null
  const preview =
    draft.preview && reading.ok && isCivilDate(draft.effectiveFrom) && !dateWrong
      ? await orNotFound(
          previewRule(actor, county, certificate, {
            requirement: reading.requirement,
            effectiveFrom: draft.effectiveFrom,
          }),
        )
      : null
  const problems = draft.preview && !reading.ok ? reading.problems : []
  const wrong = problems.length + (draft.preview && dateWrong ? 1 : 0)
  return (
    <OfficePage
      title={`Rule: ${rule.name}`}
      crumbs={[
        { href: `/office/${county}`, name: rule.county.name },
        { href: `/office/${county}/rules`, name: 'Rules' },
      ]}
    >
      {rule.versions[0] && (
        <p>
          Newest version so far: {rule.versions[0].version}, {rule.versions[0].state}.{' '}
          {rule.versions[0].sentence.en}.
        </p>
      )}
      {rule.template && (
        <Notice kind="warn">
          <p>
            <strong>About the template.</strong> {rule.template.notice}
          </p>
          <p>
            <a href="?from=template">Begin from the template</a>
          </p>
        </Notice>
      )}
      {wrong > 0 && (
        <div role="alert">
          <Notice kind="bad">
            <p>
              {wrong === 1 ? 'One field needs' : `${wrong} fields need`} another look before the preview.
              Nothing was published.
            </p>
          </Notice>
        </div>
      )}
      {preview && reading.ok && (
        <Preview
          county={county}
          certificate={certificate}
          name={rule.name}
          preview={preview}
          requirement={reading.requirement}
          effectiveFrom={draft.effectiveFrom}
          citation={draft.citation}
          version={Math.max(0, ...rule.versions.map((v) => v.version))}
        />
      )}
      <h2>The rule, line by line</h2>
      <p>
        To hold the certificate “{rule.name}” on a day, all of this must count on that day. Lines joined by
        “or” stand for each other. Where some of them belong together first, choose “several lines taken
        together” and put them inside.
      </p>
      {reading.ok && !preview && (
        <p className="rule-sentence">
          As it stands below, {rule.name}: {requirementSentence(reading.requirement, 'en')}.
        </p>
      )}
      <form method="get" action={form}>
        {/* Enter presses the first button of a form. */}
        <button
          type="submit"
          name="do"
          value="preview"
          className="only-heard"
          tabIndex={-1}
          aria-hidden="true"
        >
          Preview
        </button>
        <input type="hidden" name="lines" value={draft.lines.length} />
        {linesFrom(0, draft.lines.length)}
        <p>
          <button type="submit" name="do" value="add" formAction={`${form}#line-${draft.lines.length}`}>
            Add a line
          </button>
        </p>
        <div className="field">
          <label htmlFor="effectiveFrom">It judges every day from</label>
          <input
            id="effectiveFrom"
            name="effectiveFrom"
            type="date"
            min={rule.county.today}
            defaultValue={draft.effectiveFrom}
            aria-invalid={draft.preview && dateWrong ? true : undefined}
            aria-describedby={draft.preview && dateWrong ? 'effectiveFrom-error' : undefined}
          />
          {draft.preview && dateWrong && (
            <p className="field-error" id="effectiveFrom-error">
              {dateWrong}
            </p>
          )}
        </div>
        <input type="hidden" name="citation" value={draft.citation} />
        <button type="submit" name="do" value="preview" data-kind="main">
          See what it would do
        </button>
      </form>
    </OfficePage>
  )
}
