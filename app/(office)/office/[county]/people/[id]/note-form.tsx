import { ActionForm, Field } from '@/app/ui/action-form'
import { writeNoteAction } from './actions'

export const NoteForm = ({ county, workerId }: { county: string; workerId: string }) => (
  <ActionForm action={writeNoteAction} fold="Write a note" className="panel" id="note">
    <input type="hidden" name="countyId" value={county} />
    <input type="hidden" name="workerId" value={workerId} />
    <Field
      name="text"
      label="Note"
      hint="Write only what the person may read: it is part of everything that they can ask for."
      maxLength={2000}
    />
    <button type="submit">Keep the note</button>
  </ActionForm>
)
