/** Pages of one county, in the order of its work: who, where, when, then who sits where. A colon stands for the
 *  election at hand. */
const LINKS = [
  ['overview', '', 'Overview'],
  ['people', '/people', 'People'],
  ['places', '/places', 'Places'],
  ['elections', '/elections', 'Elections'],
  ['crews', '/crews', 'Crews'],
  ['election', ':', 'Roster'],
  ['offers', ':/offers', 'Offers'],
  ['lapses', '/lapses', 'Who lapses'],
  ['reminders', '/reminders', 'Reminders'],
  ['positions', '/positions', 'Positions'],
  ['rules', '/rules', 'Rules'],
  ['service', '/service', 'Service and pay'],
  ['imports', '/imports', 'Bring data in'],
] as const

/** The pages of one county. */
export const CountyNav = ({
  county,
  here,
  electionId,
}: {
  county: string
  here: (typeof LINKS)[number][0]
  electionId: string | null
}) => (
  <nav aria-label="This county">
    <ul className="subnav">
      {LINKS.map(([key, path, name]) => {
        const address = path.startsWith(':')
          ? electionId && path.replace(':', `/elections/${electionId}`)
          : path
        return (
          address !== null && (
            <li key={key}>
              <a href={`/office/${county}${address}`} aria-current={here === key ? 'page' : undefined}>
                {name}
              </a>
            </li>
          )
        )
      })}
    </ul>
  </nav>
)
