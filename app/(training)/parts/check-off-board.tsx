'use client'
import { useActionState, useState } from 'react'
import { Tag } from '@/app/ui/notice'
import type { HandTaskState } from '@/lib/classes/queries'
import type { FormAction } from '@/lib/web/define-action'
import { IDLE } from '@/lib/web/outcome'
import { useRoom } from './room'

const profileName = (key: string) => key[0]!.toUpperCase() + key.slice(1)

/** The hand tasks of one person: done, or to repeat, on this equipment. One tap records it on the tablet at once; it is
 *  sent when there is a connection. Before JavaScript has loaded the same buttons send a plain form. */
export function CheckOffBoard({
  countyId,
  workerId,
  name,
  tasks,
  profiles,
  today,
  formKey,
  action,
}: {
  countyId: string
  workerId: string
  name: string
  tasks: HandTaskState[]
  /** The county's own first. */
  profiles: string[]
  today: string
  /** For the plain form; made anew with each page. */
  formKey: string
  action: FormAction
}) {
  const room = useRoom()
  const [outcome, submit] = useActionState(action, IDLE)
  const [profile, setProfile] = useState(profiles[0] ?? '')
  const [on, setOn] = useState(today)
  const kept = [...room.taken, ...room.entries.filter((e) => e.refused === undefined).map((e) => e.record)]
  const fieldName = `profile-${workerId}`

  const mark = (event: React.MouseEvent, task: string, result: 'done' | 'repeat') => {
    if (!room.ready) return
    event.preventDefault()
    room.add(countyId, {
      kind: 'checkOff',
      key: crypto.randomUUID(),
      workerId,
      task,
      equipmentProfile: profile,
      result,
      on: on as never,
    })
  }

  return (
    <form action={submit}>
      <input type="hidden" name="workerId" value={workerId} />
      <input type="hidden" name="formKey" value={formKey} />
      {outcome.status !== 'idle' && outcome.message && (
        <div className="notice" data-kind={outcome.status === 'done' ? 'good' : 'bad'} role="status">
          <p>{outcome.message}</p>
        </div>
      )}
      <fieldset>
        <legend>On which equipment?</legend>
        <div className="pick">
          {profiles.map((key) => (
            <label className="choice" key={key} htmlFor={`${fieldName}-${key}`}>
              <input
                id={`${fieldName}-${key}`}
                type="radio"
                name="equipmentProfile"
                value={key}
                checked={profile === key}
                onChange={() => setProfile(key)}
              />
              Equipment “{profileName(key)}”
            </label>
          ))}
        </div>
      </fieldset>
      <div className="field">
        <label htmlFor={`on-${workerId}`}>Day</label>
        <input
          id={`on-${workerId}`}
          name="on"
          type="date"
          value={on}
          max={today}
          onChange={(event) => setOn(event.target.value)}
          required
        />
      </div>
      <ul className="task-list">
        {tasks.map((task) => {
          const now = kept.findLast(
            (r) => r.kind === 'checkOff' && r.workerId === workerId && r.task === task.key,
          )
          const fresh = now?.kind === 'checkOff' ? now : null
          return (
            <li key={task.key}>
              <div>
                <p>
                  <strong>{task.label.en}</strong>
                </p>
                <p>
                  {fresh ? (
                    fresh.result === 'done' ? (
                      <Tag kind="good">✓ done, on {profileName(fresh.equipmentProfile)}</Tag>
                    ) : (
                      <Tag kind="warn">↻ to repeat</Tag>
                    )
                  ) : task.missing ? (
                    <Tag kind="warn">○ open</Tag>
                  ) : (
                    <Tag kind="good">✓ nothing open</Tag>
                  )}
                </p>
                {!fresh && task.last && (
                  <p className="small quiet">
                    Last: {task.last.result === 'done' ? 'done' : 'to repeat'}, {task.last.on}
                    {task.last.equipmentProfile && `, on ${profileName(task.last.equipmentProfile)}`}
                    {task.last.by && `, seen by ${task.last.by}`}
                  </p>
                )}
              </div>
              <div className="row">
                <button
                  type="submit"
                  name="mark"
                  value={`${task.key}:done`}
                  data-kind="main"
                  onClick={(event) => mark(event, task.key, 'done')}
                >
                  ✓ Done
                  <span className="only-heard">
                    : {task.label.en}, {name}
                  </span>
                </button>
                <button
                  type="submit"
                  name="mark"
                  value={`${task.key}:repeat`}
                  onClick={(event) => mark(event, task.key, 'repeat')}
                >
                  ↻ To repeat
                  <span className="only-heard">
                    : {task.label.en}, {name}
                  </span>
                </button>
              </div>
            </li>
          )
        })}
      </ul>
    </form>
  )
}
