import { describe, expect, it } from 'vitest'
import { createEventQueue, mergeLogs, SyncRefused } from '@/app/play/event-queue'
import { seededRandom } from '@/lib/kernel/random'
import type { PlayEvent } from '@/lib/scenarios/schema'

const event = (n: number): PlayEvent => ({ type: 'choose', option: `o${n}` })
const fakeStorage = () => {
  const held = new Map<string, string>()
  return {
    held,
    getItem: (k: string) => held.get(k) ?? null,
    setItem: (k: string, v: string) => void held.set(k, v),
    removeItem: (k: string) => void held.delete(k),
  }
}

/** A server that appends by index, so that sending twice is harmless, and fails as told. */
function fakeServer(fails: () => 'no' | 'before' | 'after') {
  const log: PlayEvent[] = []
  return {
    log,
    async send(events: readonly PlayEvent[], from: number) {
      const how = fails()
      if (how === 'before') throw new Error('down')
      expect(from).toBeLessThanOrEqual(log.length)
      events.forEach((e, i) => {
        log[from + i] = e
      })
      if (how === 'after') throw new Error('the answer was lost')
    },
  }
}

describe('the event queue of the player', () => {
  it('sends everything once and in order however often the connection fails, before or after arrival', async () => {
    const random = seededRandom(7)
    for (let round = 0; round < 30; round++) {
      const server = fakeServer(() => random.pick(['no', 'before', 'after'] as const))
      const queue = createEventQueue({
        storage: fakeStorage(),
        key: 'k',
        initial: [],
        send: server.send,
        onChange: () => {},
        delay: async () => {},
      })
      const sent = Array.from({ length: 12 }, (_, i) => event(i))
      for (const e of sent) {
        queue.add(e)
        if (random.next() < 0.5) await Promise.resolve()
      }
      await queue.settled()
      expect(server.log).toEqual(sent)
      expect(queue.status).toBe('saved')
    }
  })

  it('goes on from the copy on this device after the page was closed without a connection', async () => {
    const storage = fakeStorage()
    const down = createEventQueue({
      storage,
      key: 'k',
      initial: [event(0)],
      send: async () => {
        throw new Error('down')
      },
      onChange: () => {},
      delay: () => new Promise(() => {}),
    })
    down.add(event(1))
    down.add(event(2))
    await Promise.resolve()
    down.stop()
    const server = fakeServer(() => 'no')
    server.log.push(event(0))
    const again = createEventQueue({
      storage,
      key: 'k',
      initial: [event(0)],
      send: server.send,
      onChange: () => {},
    })
    expect(again.events).toEqual([event(0), event(1), event(2)])
    await again.settled()
    expect(server.log).toEqual([event(0), event(1), event(2)])
  })

  it('follows the server where another device went on', () => {
    expect(mergeLogs([event(0), event(5)], { events: [event(0), event(1)], acknowledged: 1 }).events).toEqual(
      [event(0), event(5)],
    )
    expect(
      mergeLogs([event(0), event(1), event(2)], { events: [event(0), event(1)], acknowledged: 2 }).events,
    ).toHaveLength(3)
  })

  it('stops trying when the server refuses', async () => {
    let tries = 0
    const queue = createEventQueue({
      storage: null,
      key: 'k',
      initial: [],
      send: async () => {
        tries++
        throw new SyncRefused('closed')
      },
      onChange: () => {},
      delay: async () => {},
    })
    queue.add(event(0))
    await queue.settled()
    expect([tries, queue.status]).toEqual([1, 'refused'])
  })
})
