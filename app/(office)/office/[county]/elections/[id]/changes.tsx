import type { RosterChanges } from '@/lib/roster/queries-changes'

/** What was done to the roster lately, newest first. */
export const ChangeList = ({ changes }: { changes: RosterChanges }) => (
  <ul>
    {changes.changes.map((change) => (
      <li key={change.key}>
        {change.text}, <span className="quiet">{change.when}</span>
      </li>
    ))}
    {changes.more && <li className="quiet">and more before that</li>}
  </ul>
)
