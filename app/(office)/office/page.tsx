import { redirect } from 'next/navigation'
import { Empty, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { listOfficeCounties } from '@/lib/elections/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { OfficePage } from '../parts/office-page'
import { dateText, daysText } from '../parts/words'

export const metadata = { title: 'Office' }

/** The counties that somebody may see; whoever has one county only is led straight into it. */
export default async function OfficeHome() {
  const actor = await requireActor('/office')
  const counties = await orNotFound(listOfficeCounties(actor))
  const single = actor.grants.every((grant) => grant.countyId !== null) && counties.length === 1
  if (single) redirect(`/office/${counties[0]!.id}`)
  return (
    <OfficePage title="Counties">
      {counties.length === 0 ? (
        <Empty>
          <p>
            Your account does not include the office of any county. Ask your administrator if you need it.
          </p>
        </Empty>
      ) : (
        <div className="grid">
          {counties.map((county) => (
            <section key={county.id} className="panel" aria-labelledby={`county-${county.id}`}>
              <h2 id={`county-${county.id}`}>
                <a href={`/office/${county.id}`}>{county.name}</a>
              </h2>
              {county.next ? (
                <>
                  <p>
                    {county.next.name}, {dateText(county.next.heldOn)} ({daysText(county.next.daysToGo)})
                  </p>
                  <Readiness name="Filled seats" done={county.filled} of={county.seats} />
                  <Readiness
                    name="Seats with certified people"
                    done={county.certifiedSeats}
                    of={county.seats}
                  />
                  <p>
                    {county.roster === null ? (
                      <Tag kind="warn">no roster yet</Tag>
                    ) : county.roster.publishedAt ? (
                      <Tag kind="good">version {county.roster.version} published</Tag>
                    ) : (
                      <Tag kind="warn">draft of version {county.roster.version}</Tag>
                    )}
                  </p>
                </>
              ) : (
                <p className="quiet">No election ahead.</p>
              )}
            </section>
          ))}
        </div>
      )}
    </OfficePage>
  )
}

const Readiness = ({ name, done, of }: { name: string; done: number; of: number }) => (
  <div className="field">
    <p className="hint">
      {name}: <b>{done}</b> of {of}
    </p>
    <span className="bar" aria-hidden="true">
      <span style={{ width: `${of === 0 ? 0 : Math.round((100 * done) / of)}%` }} />
    </span>
  </div>
)
