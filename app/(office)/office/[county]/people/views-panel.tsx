import { ActionForm, Field } from '@/app/ui/action-form'
import type { SavedViewSummary } from '@/lib/people/queries-list'
import { keepViewAction, removeViewAction } from './actions'

/** Keeping the filter under a name, and letting go of kept ones. */
export const ViewsPanel = ({
  county,
  query,
  views,
}: {
  county: string
  query: string
  views: SavedViewSummary[]
}) => (
  <details className="panel">
    <summary>Keep this filter as a view</summary>
    <ActionForm action={keepViewAction} id="keep-view">
      <input type="hidden" name="countyId" value={county} />
      <input type="hidden" name="query" value={query} />
      <Field
        name="name"
        label="Name of the view"
        hint="For you alone. A searched name is not kept; a view of the same name is replaced."
        maxLength={60}
      />
      <button type="submit">Keep the view</button>
    </ActionForm>
    {views.length > 0 && (
      <ul className="picks">
        {views.map((view) => (
          <li key={view.id}>
            <div>{view.name}</div>
            <ActionForm action={removeViewAction}>
              <input type="hidden" name="countyId" value={county} />
              <input type="hidden" name="viewId" value={view.id} />
              <button type="submit" data-kind="plain">
                Remove<span className="only-heard"> the view {view.name}</span>
              </button>
            </ActionForm>
          </li>
        ))}
      </ul>
    )}
  </details>
)
