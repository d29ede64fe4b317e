import { TableBox } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getClassSheetOrThrow } from '@/lib/classes/queries-classes'
import { orNotFound } from '@/lib/web/or-not-found'
import { TrainingPage } from '../../../../../parts/training-page'

export const metadata = { title: 'Sign-in sheet for paper' }

/** Empty lines for those who come unannounced. */
const SPARE_LINES = 6

export default async function PaperSheetPage({
  params,
}: {
  params: Promise<{ county: string; class: string }>
}) {
  const { county, class: id } = await params
  const actor = await requireActor(`/training/${county}/classes/${id}/sheet`)
  const { summary, rows, county: home } = await orNotFound(getClassSheetOrThrow(actor, county, id))
  const seated = rows.filter((row) => row.state.state !== 'waiting')
  const waiting = rows.filter((row) => row.state.state === 'waiting')
  return (
    <TrainingPage
      title={`Sign-in sheet: ${summary.title}`}
      here="classes"
      county={home}
      crumb={{ href: `/training/${county}/classes/${id}`, name: 'The class' }}
    >
      <p>
        {summary.when}. {summary.placeName}, {summary.placeAddress}. Trainer: {summary.trainerName}.
      </p>
      <p className="no-print">
        Use your browser’s print command. Afterwards mark on the tablet’s sheet who signed here: the paper is
        kept with the class.
      </p>
      <TableBox label="Sign-in sheet">
        <table className="sheet-table">
          <thead>
            <tr>
              <th scope="col">
                Name · <span lang="es">Nombre</span>
              </th>
              <th scope="col">
                Number · <span lang="es">Número</span>
              </th>
              <th scope="col">
                Wants to work as · <span lang="es">Quiere trabajar como</span>
              </th>
              <th scope="col" className="sign">
                Signature · <span lang="es">Firma</span>
              </th>
              <th scope="col">
                Time · <span lang="es">Hora</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {[...seated, ...waiting].map((row) => (
              <tr key={row.workerId}>
                <th scope="row">
                  {row.name}
                  {row.state.state === 'waiting' && (
                    <span className="quiet"> (waiting list, number {row.state.place})</span>
                  )}
                </th>
                <td className="one-line">{row.countyRef}</td>
                <td>{row.wants ?? '—'}</td>
                <td className="sign" />
                <td />
              </tr>
            ))}
            {Array.from({ length: SPARE_LINES }, (_, i) => (
              <tr key={`spare-${i}`}>
                <td />
                <td />
                <td />
                <td className="sign" />
                <td />
              </tr>
            ))}
          </tbody>
        </table>
      </TableBox>
      <p>
        Sign when you come. · <span lang="es">Firme al llegar.</span>
      </p>
      <p>Trainer’s signature: ______________________________</p>
    </TrainingPage>
  )
}
