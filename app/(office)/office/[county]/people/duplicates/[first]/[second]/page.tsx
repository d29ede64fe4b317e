import { ActionForm, Tick } from '@/app/ui/action-form'
import { Notice } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getOfficeCounty } from '@/lib/elections/queries'
import { milesText } from '@/lib/kernel/miles'
import { MERGE_FIELDS } from '@/lib/people/core/merge-fields'
import { listPositions } from '@/lib/people/queries'
import { getPair, type PairSide } from '@/lib/people/queries-duplicates'
import { orNotFound } from '@/lib/web/or-not-found'
import { OfficePage } from '../../../../../../parts/office-page'
import { count } from '../../../../../../parts/words'
import { mergeAction, notTheSameAction } from '../../actions'

export const metadata = { title: 'Compare two records' }

export default async function ComparePage({
  params,
}: {
  params: Promise<{ county: string; first: string; second: string }>
}) {
  const { county, first, second } = await params
  const here = `/office/${county}/people/duplicates/${first}/${second}`
  const actor = await requireActor(here)
  const home = await orNotFound(getOfficeCounty(actor, county))
  const [kept, merged] = await orNotFound(getPair(actor, county, [first, second]))
  const positions = new Map((await listPositions(county)).map((p) => [p.key, p.nameEn]))
  const words = (key: string, side: PairSide) => {
    if (key === 'homeAddress' && side.addressProtected && side.values[key] === null)
      return 'kept confidential'
    return valueWords(key, side.values[key], positions)
  }
  const ids = (
    <>
      <input type="hidden" name="countyId" value={county} />
      <input type="hidden" name="keptId" value={kept.id} />
      <input type="hidden" name="mergedId" value={merged.id} />
    </>
  )
  const fields = MERGE_FIELDS.filter(({ key }) => key in kept.values)
  const different = fields.filter(({ key }) => words(key, kept) !== words(key, merged))
  const same = fields.filter((field) => !different.includes(field))
  return (
    <OfficePage
      title="Are these one person?"
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: home.name },
        { href: `/office/${county}/people/duplicates`, name: 'Records that may be one person' },
      ]}
    >
      <div className="grid">
        <Side side={kept} title="Stays" county={county} />
        <Side side={merged} title="Goes into it" county={county} />
      </div>
      <p>
        <a className="button" href={`/office/${county}/people/duplicates/${merged.id}/${kept.id}`}>
          The other way round: keep {merged.countyRef}
        </a>
      </p>
      <ActionForm action={mergeAction}>
        {ids}
        <section className="panel" aria-labelledby="choose">
          <h2 id="choose">Where they differ, what holds?</h2>
          {different.map(({ key, label }) => (
            <fieldset className="choices" key={key}>
              <legend>{label}</legend>
              {[kept, merged].map((side, i) => (
                <label className="choice" key={side.id}>
                  <Tick
                    type="radio"
                    name={`take.${key}`}
                    value={i === 0 ? 'kept' : 'merged'}
                    defaultChecked={preferred(key, kept, merged) === i}
                  />
                  <span>
                    {words(key, side) || <span className="quiet">nothing</span>}
                    <br />
                    <span className="small quiet">
                      {i === 0 ? 'of the record that stays' : 'of the other'}
                    </span>
                  </span>
                </label>
              ))}
            </fieldset>
          ))}
          {same.length > 0 && (
            <p className="quiet">
              The same in both: {same.map(({ label }) => label.toLowerCase()).join(', ')}.
            </p>
          )}
          <Notice>
            <p>
              Lessons, check-offs and service of both count for the record that stays; seats in drafts,
              quizzes, class bookings, offers, notes, exclusions, pairs and pay go over to it. Days away,
              extra time and a confidential address hold when either record says so. The other record is
              marked as merged and leaves the lists. You can undo this.
            </p>
          </Notice>
          <button type="submit" data-kind="main">
            Merge into {kept.countyRef}
          </button>
        </section>
      </ActionForm>
      <ActionForm action={notTheSameAction}>
        {ids}
        <button type="submit">These are two people</button>
      </ActionForm>
    </OfficePage>
  )
}

/** The side that says something; the one that stays where both do. The larger count of elections. */
function preferred(key: string, kept: PairSide, merged: PairSide): 0 | 1 {
  const [a, b] = [kept.values[key], merged.values[key]]
  if (key === 'electionsServed') return Number(b) > Number(a) ? 1 : 0
  const empty = (value: unknown) =>
    value === null || value === undefined || (Array.isArray(value) && value.length === 0)
  return empty(a) && !empty(b) ? 1 : 0
}

function valueWords(key: string, value: unknown, positions: ReadonlyMap<string, string>): string {
  if (value === null || value === undefined) return ''
  if (Array.isArray(value)) return value.join(', ')
  if (typeof value === 'boolean') return value ? 'yes' : 'no'
  if (key === 'maxTravelKm') return milesText(Number(value))
  if (key === 'wantsPositionKey') return positions.get(String(value)) ?? String(value)
  return String(value)
}

const Side = ({ side, title, county }: { side: PairSide; title: string; county: string }) => (
  <section className="panel" aria-label={title}>
    <h2>{title}</h2>
    <p>
      <a href={`/office/${county}/people/${side.id}`}>
        <b>{side.name}</b>
      </a>
      , number {side.countyRef}
    </p>
    <p>
      {count(side.facts, 'fact')} on record, {count(side.attempts, 'lesson or quiz', 'lessons and quizzes')},{' '}
      {count(side.seats, 'seat')}
      {side.hasAccount ? ', can sign in' : ''}.
    </p>
  </section>
)
