import type { ComponentProps } from 'react'
import { ActionForm } from '@/app/ui/action-form'

/** The button that takes back one noted thing of a person; `what` is heard after its words. */
export const TakeBack = ({
  action,
  county,
  workerId,
  id,
  what,
}: {
  action: ComponentProps<typeof ActionForm>['action']
  county: string
  workerId: string
  id: string
  what: string
}) => (
  <ActionForm action={action}>
    <input type="hidden" name="countyId" value={county} />
    <input type="hidden" name="workerId" value={workerId} />
    <input type="hidden" name="id" value={id} />
    <button type="submit" data-kind="plain">
      Take back<span className="only-heard"> {what}</span>
    </button>
  </ActionForm>
)
