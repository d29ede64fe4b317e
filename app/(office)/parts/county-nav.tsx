/** The pages of one county. */
export const CountyNav = ({
  county,
  here,
  electionId,
}: {
  county: string
  here: 'overview' | 'people' | 'election' | 'rules' | 'lapses' | 'reminders'
  electionId: string | null
}) => (
  <nav aria-label="This county">
    <ul className="subnav">
      <li>
        <a href={`/office/${county}`} aria-current={here === 'overview' ? 'page' : undefined}>
          Overview
        </a>
      </li>
      <li>
        <a href={`/office/${county}/people`} aria-current={here === 'people' ? 'page' : undefined}>
          People
        </a>
      </li>
      {electionId && (
        <li>
          <a
            href={`/office/${county}/elections/${electionId}`}
            aria-current={here === 'election' ? 'page' : undefined}
          >
            Roster
          </a>
        </li>
      )}
      <li>
        <a href={`/office/${county}/lapses`} aria-current={here === 'lapses' ? 'page' : undefined}>
          Who lapses
        </a>
      </li>
      <li>
        <a href={`/office/${county}/reminders`} aria-current={here === 'reminders' ? 'page' : undefined}>
          Reminders
        </a>
      </li>
      <li>
        <a href={`/office/${county}/rules`} aria-current={here === 'rules' ? 'page' : undefined}>
          Rules
        </a>
      </li>
    </ul>
  </nav>
)
