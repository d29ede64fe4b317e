import { randomUUID } from 'node:crypto'
import { ActionForm, Field } from '@/app/ui/action-form'
import { Empty, Figures, Notice } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { type ClassSheet, getClassSheetOrThrow, type SheetRow } from '@/lib/classes/queries-classes'
import { orNotFound } from '@/lib/web/or-not-found'
import { CheckOffBoard } from '../../../../parts/check-off-board'
import { SignInRow } from '../../../../parts/sign-in-row'
import { TrainingPage } from '../../../../parts/training-page'
import { recordCheckOffAction } from '../../[worker]/actions'
import { bookForAction, closeClassAction, giveUpForAction, signInAction } from '../actions'

export const metadata = { title: 'Sign-in sheet' }

const SAID: Partial<Record<SheetRow['state']['state'], string>> = {
  noShow: 'had a seat, did not come',
  notCalled: 'waited, no seat became free',
}

export default async function ClassSheetPage({
  params,
}: {
  params: Promise<{ county: string; class: string }>
}) {
  const { county, class: id } = await params
  const actor = await requireActor(`/training/${county}/classes/${id}`)
  const sheet = await orNotFound(getClassSheetOrThrow(actor, county, id))
  const { summary, rows } = sheet
  const here = rows.filter((row) => row.signedIn).length
  const base = `/training/${county}/classes/${id}`
  const running = summary.state === 'open' || summary.state === 'begun'
  return (
    <TrainingPage
      title={summary.title}
      here="classes"
      county={sheet.county}
      crumb={{ href: `/training/${county}/classes`, name: 'Classes' }}
    >
      <p className="lead">{summary.when}</p>
      <p>
        {summary.placeName}, {summary.placeAddress}. Trainer: {summary.trainerName}. In{' '}
        {summary.locale === 'es' ? 'Spanish' : 'English'}
        {summary.forPosition && `, for: ${summary.forPosition}`}.
      </p>
      {summary.state === 'cancelled' && (
        <Notice kind="bad">
          <p>This class is cancelled.</p>
        </Notice>
      )}
      {summary.state === 'closed' && (
        <Notice kind="good">
          <p>
            The sheet is closed and attendance is on record. A mark that turns out to be wrong can still be
            changed here; the record follows.
          </p>
        </Notice>
      )}
      <Figures
        items={[
          { name: `of ${summary.seats} seats taken`, value: summary.seats - summary.seatsLeft },
          { name: 'waiting', value: summary.waiting },
          { name: 'here', value: here },
        ]}
      />
      <p className="row no-print">
        <a className="button" href={`${base}/sheet`}>
          Sheet for paper
        </a>
        <a className="button" href={`${base}/sheet.csv`} download>
          List as CSV
        </a>
        {running && (
          <a className="button" href={`${base}/change`}>
            Change or cancel
          </a>
        )}
      </p>
      <section aria-labelledby="list">
        <h2 id="list">Sign-in sheet</h2>
        {running && !sheet.signInOpen && <p>Signing in opens on the day of the class.</p>}
        {sheet.signInOpen && (
          <p>
            Each person taps their own line, or you do. It works without a connection, once this page was
            opened with one.
          </p>
        )}
        {rows.length === 0 ? (
          <Empty>
            <p>Nobody is on the list yet. People book by themselves; below you can add somebody.</p>
          </Empty>
        ) : (
          <ul className="room-list">
            {rows.map((row) => (
              <SignInRow
                key={row.workerId}
                countyId={county}
                classId={id}
                open={sheet.signInOpen}
                action={signInAction}
                person={{
                  workerId: row.workerId,
                  name: row.name,
                  countyRef: row.countyRef,
                  signedIn: row.signedIn,
                  said:
                    row.state.state === 'waiting'
                      ? `waiting list, number ${row.state.place}`
                      : (SAID[row.state.state] ?? null),
                }}
              >
                <MoreOf row={row} sheet={sheet} />
              </SignInRow>
            ))}
          </ul>
        )}
      </section>
      {running && (
        <div className="grid no-print">
          <section className="panel" aria-labelledby="add">
            <h2 id="add">Add somebody</h2>
            <ActionForm action={bookForAction}>
              <input type="hidden" name="classId" value={id} />
              <Field
                name="countyRef"
                label="County number"
                hint="It stands on the sign-in card and in the list of people."
                autoComplete="off"
              />
              <button type="submit">Add to the list</button>
            </ActionForm>
          </section>
          {summary.state === 'begun' && (
            <section className="panel" aria-labelledby="close">
              <h2 id="close">Close the sheet</h2>
              <p>
                Who is marked as here has attended: that counts for certificates at once. Who had a seat and
                is not marked is a no-show.
              </p>
              <ActionForm action={closeClassAction}>
                <input type="hidden" name="classId" value={id} />
                <button type="submit" data-kind="main">
                  Close the sheet
                </button>
              </ActionForm>
            </section>
          )}
        </div>
      )}
    </TrainingPage>
  )
}

/** What belongs to one line: needs, hand tasks, taking somebody off the list. While people sign in the tablet goes round,
 *  so that a need is behind the same words for everybody. */
const MoreOf = ({ row, sheet }: { row: SheetRow; sheet: ClassSheet }) => {
  const open = row.tasks.filter((task) => task.missing).length
  return (
    <>
      {row.accommodations && !sheet.signInOpen && (
        <p className="wide-cell">Accommodation: {row.accommodations}</p>
      )}
      {sheet.signInOpen && (row.tasks.length > 0 || row.accommodations) && (
        <details>
          <summary>
            For the trainer: hand tasks ({open} open)<span className="only-heard">, {row.name}</span>
          </summary>
          {row.accommodations && <p>Accommodation: {row.accommodations}</p>}
          {row.tasks.length > 0 && (
            <CheckOffBoard
              countyId={sheet.county.id}
              workerId={row.workerId}
              name={row.name}
              tasks={row.tasks}
              profiles={sheet.equipmentProfiles}
              today={sheet.today}
              formKey={randomUUID()}
              action={recordCheckOffAction}
            />
          )}
        </details>
      )}
      {!sheet.signInOpen && sheet.summary.state === 'open' && (
        <details className="no-print">
          <summary>
            Take off the list<span className="only-heard">: {row.name}</span>
          </summary>
          <ActionForm action={giveUpForAction}>
            <input type="hidden" name="classId" value={sheet.summary.id} />
            <input type="hidden" name="workerId" value={row.workerId} />
            <button type="submit" data-kind="bad">
              They are not coming
            </button>
          </ActionForm>
        </details>
      )}
    </>
  )
}
