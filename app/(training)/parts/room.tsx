'use client'
import { useRouter } from 'next/navigation'
import { createContext, type ReactNode, useContext, useEffect, useRef, useState } from 'react'
import type { RecordOutcome, RoomRecord } from '@/lib/classes/schema'
import { isKept, keepThisPage, keptAt } from './kept-pages'
import { createRoomQueue, type RoomEntry, type RoomQueue, type RoomStatus, SignedOut } from './room-queue'

interface RoomView {
  ready: boolean
  status: RoomStatus
  entries: RoomEntry[]
  taken: readonly RoomRecord[]
  add(countyId: string, record: RoomRecord): void
  dismiss(key: string): void
}

const Nothing: RoomView = {
  ready: false,
  status: 'saved',
  entries: [],
  taken: [],
  add: () => undefined,
  dismiss: () => undefined,
}
const RoomContext = createContext<RoomView>(Nothing)

/** The tablet's records. Until JavaScript has loaded `ready` is false, and plain forms do the work. */
export const useRoom = () => useContext(RoomContext)

async function send(countyId: string, records: RoomRecord[]): Promise<RecordOutcome[]> {
  const answer = await fetch('/api/training/records', {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ countyId, records }),
  })
  if (answer.status === 401) throw new SignedOut()
  if ([403, 404, 422].includes(answer.status)) {
    const { message } = (await answer.json()) as { message: string }
    return records.map(({ key }) => ({ key, status: 'refused', message }))
  }
  if (!answer.ok) throw new Error(`the server answered ${answer.status}`)
  return ((await answer.json()) as { outcomes: RecordOutcome[] }).outcomes
}

/** Keeps and sends the records of every training page, wherever on them the connection comes back. */
export function Room({ account, children }: { account: string; children: ReactNode }) {
  const router = useRouter()
  const queue = useRef<RoomQueue | null>(null)
  const [view, setView] = useState<RoomView>(Nothing)
  useEffect(() => {
    let storage: Storage | null = null
    try {
      storage = window.localStorage
    } catch {
      // Forbidden by the browser: the page's memory must do.
    }
    let takenBefore = 0
    const look = () => {
      const q = queue.current
      if (!q) return
      const entries = q.entries()
      setView({
        ready: true,
        status: q.status,
        entries,
        taken: [...q.taken],
        add: q.add,
        dismiss: q.dismiss,
      })
      if (q.status === 'saved' && q.taken.length > takenBefore) {
        takenBefore = q.taken.length
        if (keptAt()) return window.location.reload()
        router.refresh()
        void keepThisPage()
      }
    }
    queue.current = createRoomQueue({ storage, account, send, onChange: look })
    look()
    queue.current.wake()
    void keepThisPage()
    const wake = () => {
      queue.current?.wake()
      // A copy has nothing more to wait for.
      if (keptAt() && queue.current?.status === 'saved') window.location.reload()
    }
    const leaving = (event: BeforeUnloadEvent) => {
      if (queue.current?.status === 'offline' && !isKept()) event.preventDefault()
    }
    const signingOut = (event: SubmitEvent) => {
      const n = queue.current?.entries().filter((entry) => entry.refused === undefined).length ?? 0
      const form = event.target as HTMLFormElement
      if (n > 0 && form.getAttribute('action') === '/sign-out' && !window.confirm(unsentWarning(n)))
        event.preventDefault()
    }
    window.addEventListener('online', wake)
    window.addEventListener('beforeunload', leaving)
    document.addEventListener('submit', signingOut)
    return () => {
      window.removeEventListener('online', wake)
      window.removeEventListener('beforeunload', leaving)
      document.removeEventListener('submit', signingOut)
      queue.current?.stop()
    }
  }, [account, router])
  return (
    <RoomContext value={view}>
      {children}
      <RoomBar />
    </RoomContext>
  )
}

const records = (n: number) => `${n} ${n === 1 ? 'record' : 'records'}`

const unsentWarning = (n: number) =>
  `${records(n)} not sent yet. A shared tablet forgets them when you sign out. Sign out all the same?`

/** What still waits on this tablet, in words, at the lower edge of the window. */
function RoomBar() {
  const { entries, status, dismiss } = useRoom()
  const refused = entries.filter((entry) => entry.refused !== undefined)
  const waiting = entries.length - refused.length
  const [copyOf, setCopyOf] = useState<Date | null>(null)
  useEffect(() => setCopyOf(keptAt()), [])
  return (
    <div className="room-bar no-print" lang="en">
      {copyOf && (
        <p>
          No connection: this is the page as it was at{' '}
          {copyOf.toLocaleTimeString('en-US', { hour: 'numeric', minute: '2-digit' })}. You can go on; it is
          sent when the connection is back.
        </p>
      )}
      <p role="status">
        {waiting > 0 &&
          (status === 'offline'
            ? `No connection: ${records(waiting)} kept on this tablet. You can go on; they are sent when the connection is back.`
            : status === 'signed-out'
              ? `${records(waiting)} kept on this tablet. Sign in again with the same account to send them.`
              : `Sending ${records(waiting)}…`)}
      </p>
      {refused.map((entry) => (
        <div className="notice" data-kind="bad" role="alert" key={entry.record.key}>
          <p>
            Not recorded:{' '}
            {entry.record.kind === 'signIn' ? 'a sign-in' : `the check-off ${entry.record.task}`}.{' '}
            {entry.refused}
          </p>
          <button type="button" onClick={() => dismiss(entry.record.key)}>
            I have seen this
          </button>
        </div>
      ))}
    </div>
  )
}
