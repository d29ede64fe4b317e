'use client'
import { type ReactNode, useActionState } from 'react'
import { Tag } from '@/app/ui/notice'
import type { FormAction } from '@/lib/web/define-action'
import { IDLE } from '@/lib/web/outcome'
import { useRoom } from './room'

/** One person on the sign-in sheet. A tap is kept on the tablet at once and sent when there is a connection; before
 *  JavaScript has loaded the button sends a plain form. */
export function SignInRow({
  countyId,
  classId,
  person,
  open,
  action,
  children,
}: {
  countyId: string
  classId: string
  person: { workerId: string; name: string; countyRef: string; signedIn: boolean; said: string | null }
  /** Signing in is possible today. */
  open: boolean
  action: FormAction
  children?: ReactNode
}) {
  const room = useRoom()
  const [outcome, submit] = useActionState(action, IDLE)
  const kept = [...room.taken, ...room.entries.filter((e) => e.refused === undefined).map((e) => e.record)]
  const last = kept.findLast(
    (r) => r.kind === 'signIn' && r.classId === classId && r.workerId === person.workerId,
  )
  const here = last?.kind === 'signIn' ? last.here : person.signedIn
  const onSubmit = (event: React.FormEvent) => {
    if (!room.ready) return
    event.preventDefault()
    room.add(countyId, {
      kind: 'signIn',
      key: crypto.randomUUID(),
      classId,
      workerId: person.workerId,
      here: !here,
    })
  }
  return (
    <li data-here={here || undefined}>
      <div>
        <p className="who">{person.name}</p>
        <p className="small quiet">
          {person.countyRef}
          {person.said && ` · ${person.said}`}
        </p>
      </div>
      {open && (
        <form action={submit} onSubmit={onSubmit}>
          <input type="hidden" name="classId" value={classId} />
          <input type="hidden" name="workerId" value={person.workerId} />
          <input type="hidden" name="here" value={here ? 'no' : 'yes'} />
          <button type="submit" data-kind={here ? undefined : 'main'} aria-pressed={here}>
            {here ? '✓ Here' : 'I am here'}
            <span className="only-heard">: {person.name}</span>
          </button>
        </form>
      )}
      {!open && here && <Tag kind="good">✓ here</Tag>}
      {outcome.status !== 'idle' && outcome.status !== 'done' && (
        <p className="field-error wide-cell" role="alert">
          {outcome.message}
        </p>
      )}
      {children}
    </li>
  )
}
