import { TableBox } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { recordExport } from '@/lib/roster/commands'
import { getRosterPaper, type PaperSeat } from '@/lib/roster/queries-papers'
import { SHIFT_WORDS } from '@/lib/roster/words'
import { orNotFound } from '@/lib/web/or-not-found'
import { OfficePage } from '../../../../../parts/office-page'
import { PageTurner } from '../../../../../parts/page-turner'
import { dateText } from '../../../../../parts/words'

export const metadata = { title: 'For print' }

/** Places of one page: more would be slow to open and to print. The county's packet has files with all places. */
const CREWS_PAGE = 60
const OVERVIEW_PAGE = 600

export default async function PrintPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; id: string }>
  searchParams: Promise<{ what?: string; page?: string }>
}) {
  const { county, id } = await params
  const { what, page: asked } = await searchParams
  const actor = await requireActor(`/office/${county}/elections/${id}/print`)
  const overview = what === 'county'
  const { head, seats, page, pages } = await orNotFound(
    getRosterPaper(actor, county, id, {
      page: Number(asked) || 1,
      places: overview ? OVERVIEW_PAGE : CREWS_PAGE,
    }),
  )
  await recordExport(actor, id, overview ? 'print-county' : 'print-crews')
  const places = byPlace(seats)
  const base = `/office/${county}/elections/${id}`
  const version = head.roster
    ? `Version ${head.roster.version}${head.roster.publishedAt ? '' : ', DRAFT'}`
    : 'No roster yet'
  return (
    <OfficePage
      title={overview ? `County overview: ${head.name}` : `Crew lists: ${head.name}`}
      crumbs={[
        { href: `/office/${county}`, name: head.countyName },
        { href: base, name: head.name },
      ]}
    >
      <p>
        {dateText(head.heldOn, 'long')}. {version}. Printed {dateText(head.today)}.
      </p>
      <p className="no-print">
        {overview ? 'One table for the whole county.' : 'Each place begins on a new sheet.'} Use your
        browser’s print command. <b>Phone numbers are personal</b>: give a sheet only to the people of that
        crew.
        {pages > 1 && (
          <>
            {' '}
            This is part {page} of {pages}; <a href={`${base}/papers`}>the county’s packet</a> holds all
            places in one file.
          </>
        )}
      </p>
      <div className="no-print">
        <PageTurner
          name="More places"
          of="places"
          page={page}
          pages={pages}
          linkTo={(to) =>
            `?${new URLSearchParams({ ...(overview ? { what: 'county' } : {}), page: String(to) })}`
          }
        />
      </div>
      {overview ? (
        <Overview places={places} />
      ) : (
        places.map((crew) => <Sheet key={crew[0]!.placeId} crew={crew} />)
      )}
    </OfficePage>
  )
}

/** Crews in the order of their places; the seats come sorted by place. */
function byPlace(seats: PaperSeat[]): PaperSeat[][] {
  const crews: PaperSeat[][] = []
  for (const seat of seats) {
    const last = crews.at(-1)
    if (last && last[0]!.placeId === seat.placeId) last.push(seat)
    else crews.push([seat])
  }
  return crews
}

const Overview = ({ places }: { places: PaperSeat[][] }) => (
  <TableBox label="County overview">
    <table>
      <thead>
        <tr>
          <th scope="col">Place</th>
          <th scope="col">Lead</th>
          <th scope="col" className="number">
            Seats
          </th>
          <th scope="col" className="number">
            Filled
          </th>
          <th scope="col">Empty</th>
        </tr>
      </thead>
      <tbody>
        {places.map((crew) => {
          const empty = crew.filter((seat) => !seat.person)
          const seats = new Set(crew.map((seat) => seat.seatId)).size
          const notFilled = new Set(empty.map((seat) => seat.seatId)).size
          const leads = crew.filter((seat) => seat.seatId === crew[0]!.seatId).flatMap((s) => s.person ?? [])
          return (
            <tr key={crew[0]!.placeId}>
              <th scope="row">
                {crew[0]!.placeCode} {crew[0]!.placeName}
              </th>
              <td>{leads.map((p) => [p.name, p.phone].filter(Boolean).join(', ')).join('; ') || '—'}</td>
              <td className="number">{seats}</td>
              <td className="number">{seats - notFilled}</td>
              <td>{empty.map(seatName).join('; ') || '—'}</td>
            </tr>
          )
        })}
      </tbody>
    </table>
  </TableBox>
)

const Sheet = ({ crew }: { crew: PaperSeat[] }) => (
  <section className="sheet" aria-labelledby={`sheet-${crew[0]!.placeCode}`}>
    <h2 id={`sheet-${crew[0]!.placeCode}`}>
      {crew[0]!.placeCode} {crew[0]!.placeName}
    </h2>
    <p>{crew[0]!.placeAddress}</p>
    <TableBox label={`Crew of ${crew[0]!.placeName}`}>
      <table>
        <thead>
          <tr>
            <th scope="col">Day</th>
            <th scope="col">Position</th>
            <th scope="col">Name</th>
            <th scope="col">Phone</th>
          </tr>
        </thead>
        <tbody>
          {crew.map((seat) => (
            <tr key={seat.id}>
              <td>{dateText(seat.servesOn, 'short')}</td>
              <th scope="row">{seatName(seat)}</th>
              <td>{seat.person?.name ?? 'EMPTY'}</td>
              <td>{seat.person?.phone ?? ''}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </TableBox>
  </section>
)

const seatName = (seat: PaperSeat): string =>
  `${seat.positionName}${seat.number > 1 ? ` ${seat.number}` : ''}${seat.shift === 'full' ? '' : `, ${SHIFT_WORDS[seat.shift]}`}`
