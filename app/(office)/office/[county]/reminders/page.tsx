import { ActionForm, Field } from '@/app/ui/action-form'
import { Empty, Figures, Notice, TableBox, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { env } from '@/lib/env'
import { getReminders } from '@/lib/reminders/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../parts/county-nav'
import { OfficePage } from '../../../parts/office-page'
import { count, dateText } from '../../../parts/words'
import { askForRemindersAction, quietHoursAction } from './actions'

export const metadata = { title: 'Reminders' }

export default async function RemindersPage({ params }: { params: Promise<{ county: string }> }) {
  const { county } = await params
  const actor = await requireActor(`/office/${county}/reminders`)
  const view = await orNotFound(getReminders(actor, county))
  const { election, plan, batches, quietHours } = view
  const writing = batches.find((batch) => !batch.finishedAt)
  const total = plan.mail + plan.letter + plan.none
  const when = new Intl.DateTimeFormat('en-US', {
    dateStyle: 'medium',
    timeStyle: 'short',
    timeZone: view.county.timeZone,
  })
  return (
    <OfficePage
      title="Reminders"
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: view.county.name },
      ]}
    >
      <CountyNav county={county} here="reminders" electionId={election?.id ?? null} />
      <p className="lead">
        Write to everybody whose certificate ends before election day, in their language: by e-mail where
        there is one, else by letter. Nobody is written to twice about the same thing.
      </p>
      {!election ? (
        <Empty>
          <p>No election lies ahead.</p>
        </Empty>
      ) : (
        <section className="panel" aria-labelledby="now">
          <h2 id="now">
            For {election.name}, {dateText(election.heldOn)}
          </h2>
          <Figures
            items={[
              { name: 'by e-mail', value: plan.mail },
              { name: 'by letter', value: plan.letter },
              { name: 'to be called: neither is known', value: plan.none },
              { name: 'written to before', value: plan.before },
            ]}
          />
          {!env().SMTP_URL && plan.mail > 0 && (
            <Notice kind="warn">
              <p>
                No mail server is set (SMTP_URL), so no e-mail leaves the house: whoever has an address gets a
                letter instead, and the others are listed to be called.
              </p>
            </Notice>
          )}
          {view.officePhone === '' && (
            <Notice kind="warn">
              <p>
                The letters ask people to call, and name no number yet. Enter the office’s telephone under{' '}
                <a href={`/office/${county}/elections/${election.id}/offers`}>Offers</a>, “What offers say”.
              </p>
            </Notice>
          )}
          {writing ? (
            <Notice>
              <p>
                A batch is being written. <a href={`/office/${county}/reminders/${writing.id}`}>See it</a>
              </p>
            </Notice>
          ) : total === 0 ? (
            <p>Nobody is left to write to. {plan.before > 0 && 'All were written to before.'}</p>
          ) : (
            <ActionForm action={askForRemindersAction}>
              <input type="hidden" name="countyId" value={county} />
              <input type="hidden" name="electionId" value={election.id} />
              <button type="submit" data-kind="main">
                Write to {count(total, 'person', 'people')} now
              </button>
            </ActionForm>
          )}
          <p>
            <a href={`/office/${county}/lapses`}>See who lapses, when and where</a>
          </p>
        </section>
      )}
      <section aria-labelledby="batches">
        <h2 id="batches">Batches so far</h2>
        {batches.length === 0 ? (
          <Empty>
            <p>None yet. Each batch keeps what became of every message and letter.</p>
          </Empty>
        ) : (
          <TableBox label="Batches">
            <table>
              <thead>
                <tr>
                  <th scope="col">Written</th>
                  <th scope="col">Asked for by</th>
                  <th scope="col" className="number">
                    E-mail
                  </th>
                  <th scope="col" className="number">
                    Letters
                  </th>
                  <th scope="col" className="number">
                    To call
                  </th>
                  <th scope="col" className="number">
                    Left out
                  </th>
                </tr>
              </thead>
              <tbody>
                {batches.map((batch) => (
                  <tr key={batch.id}>
                    <th scope="row">
                      <a href={`/office/${county}/reminders/${batch.id}`}>{when.format(batch.createdAt)}</a>{' '}
                      {!batch.finishedAt && <Tag>being written</Tag>}
                    </th>
                    <td>{batch.by}</td>
                    <td className="number">{batch.mail}</td>
                    <td className="number">{batch.letters}</td>
                    <td className="number">{batch.unreachable}</td>
                    <td className="number">{batch.skipped}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </TableBox>
        )}
      </section>
      <section className="panel" aria-labelledby="quiet">
        <h2 id="quiet">Quiet hours</h2>
        <p>
          {quietHours.from === quietHours.until
            ? 'None: messages go out at any hour.'
            : `Between ${quietHours.from} and ${quietHours.until} nothing is sent that can wait. It goes out afterwards.`}{' '}
          Sign-in codes and answers to what somebody just did are sent at once.
        </p>
        {view.mayChangeQuietHours ? (
          <ActionForm action={quietHoursAction}>
            <input type="hidden" name="countyId" value={county} />
            <div className="row at-end">
              <Field name="from" label="Quiet from" type="time" defaultValue={quietHours.from} />
              <Field name="until" label="until" type="time" defaultValue={quietHours.until} />
            </div>
            <button type="submit">Save</button>
          </ActionForm>
        ) : (
          <p className="small quiet">An administrator can change them here.</p>
        )}
      </section>
    </OfficePage>
  )
}
