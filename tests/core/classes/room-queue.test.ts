import { describe, expect, it } from 'vitest'
import { createRoomQueue, SignedOut } from '@/app/(training)/parts/room-queue'
import type { RecordOutcome, RoomRecord } from '@/lib/classes/schema'
import { seededRandom } from '@/lib/kernel/random'

const record = (n: number): RoomRecord => ({
  kind: 'signIn',
  key: `00000000-0000-4000-8000-${String(n).padStart(12, '0')}`,
  workerId: '00000000-0000-4000-8000-000000000000',
  classId: '00000000-0000-4000-8000-000000000000',
  here: n % 2 === 0,
})

function fakeStorage(): Storage {
  const held = new Map<string, string>()
  return {
    get length() {
      return held.size
    },
    key: (i) => [...held.keys()][i] ?? null,
    getItem: (k) => held.get(k) ?? null,
    setItem: (k, v) => void held.set(k, v),
    removeItem: (k) => void held.delete(k),
    clear: () => held.clear(),
  }
}

/** A server that takes each key once and fails before or after taking, as told. */
function fakeServer(fails: () => 'no' | 'before' | 'after') {
  const taken: RoomRecord[] = []
  return {
    taken,
    async send(_county: string, records: RoomRecord[]): Promise<RecordOutcome[]> {
      const how = fails()
      if (how === 'before') throw new Error('no connection')
      const outcomes = records.map((r): RecordOutcome => {
        if (taken.some((t) => t.key === r.key)) return { key: r.key, status: 'already' }
        taken.push(r)
        return { key: r.key, status: 'recorded' }
      })
      if (how === 'after') throw new Error('the answer was lost')
      return outcomes
    },
  }
}

describe('the tablet’s queue', () => {
  it('brings every record over once and in order, however often the connection fails', async () => {
    const random = seededRandom(11)
    for (let round = 0; round < 30; round++) {
      const server = fakeServer(() => random.pick(['no', 'before', 'after'] as const))
      const storage = fakeStorage()
      const queue = createRoomQueue({
        storage,
        account: 'a',
        send: server.send,
        onChange: () => {},
        delay: async () => {},
      })
      const made = Array.from({ length: 9 }, (_, i) => record(i))
      for (const r of made) {
        queue.add('larkmoor', r)
        if (random.next() < 0.5) await Promise.resolve()
      }
      await queue.settled()
      expect(server.taken).toEqual(made)
      expect(queue.entries()).toEqual([])
      expect(storage.length).toBe(0)
      expect(queue.status).toBe('saved')
    }
  })

  it('keeps records over a closed page, for the same account alone, and loses none of two tabs', async () => {
    const storage = fakeStorage()
    const parts = { storage, account: 'a', onChange: () => {}, delay: () => new Promise<void>(() => {}) }
    const down = async () => {
      throw new Error('no connection')
    }
    const first = createRoomQueue({ ...parts, send: down })
    const second = createRoomQueue({ ...parts, send: down })
    first.add('larkmoor', record(1))
    second.add('larkmoor', record(2))
    await new Promise((done) => setTimeout(done))
    expect(first.status).toBe('offline')
    first.stop()
    second.stop()
    const server = fakeServer(() => 'no')
    const other = createRoomQueue({ ...parts, account: 'b', send: server.send })
    other.wake()
    await other.settled()
    expect(server.taken).toEqual([])
    const later = createRoomQueue({ ...parts, send: server.send })
    later.wake()
    await later.settled()
    expect(server.taken.map((r) => r.key)).toEqual([record(1).key, record(2).key])
  })

  it('shows a refusal until it was seen and lets the others through', async () => {
    const queue = createRoomQueue({
      storage: fakeStorage(),
      account: 'a',
      onChange: () => {},
      send: async (_county, records) =>
        records.map((r) =>
          r.key === record(1).key
            ? { key: r.key, status: 'refused', message: 'not on the list' }
            : { key: r.key, status: 'recorded' },
        ),
    })
    for (const n of [0, 1, 2]) queue.add('larkmoor', record(n))
    await queue.settled()
    expect(queue.entries()).toMatchObject([{ refused: 'not on the list', record: { key: record(1).key } }])
    expect(queue.taken.map((r) => r.key)).toEqual([record(0).key, record(2).key])
    queue.dismiss(record(1).key)
    expect(queue.entries()).toEqual([])
  })

  it('waits for the next sign-in where this one has ended, and works without any storage', async () => {
    let signedIn = false
    const server = fakeServer(() => 'no')
    const queue = createRoomQueue({
      storage: null,
      account: 'a',
      onChange: () => {},
      send: (county, records) => {
        if (!signedIn) throw new SignedOut()
        return server.send(county, records)
      },
    })
    queue.add('larkmoor', record(1))
    await queue.settled()
    expect(queue.status).toBe('signed-out')
    signedIn = true
    queue.wake()
    await queue.settled()
    expect(server.taken).toHaveLength(1)
    expect(queue.status).toBe('saved')
  })
})
